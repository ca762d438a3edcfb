"""Travel at the setting stimulus, with every source of doubt as a line of its budget."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import stdev

from checks.measurement.calibration import Meter
from checks.measurement.correction import ROOT_3, Channels, Correction
from checks.measurement.curve import LocalCurve, slope_uncertainty
from checks.measurement.evidence import Evidence, Point
from checks.measurement.result import BudgetLine
from checks.measurement.specification import Policy, Specification
from checks.measurement.stroke import PooledSlope, Reading, StudyFigures

# An assumed slope may be anything from half to one and a half times itself.
ASSUMED_SLOPE_HALF_WIDTH = 0.5
# GUM G.4.2: a judgement thought right to a quarter of itself has (1/2) * 0.25**-2 = 8 degrees of freedom.
ASSUMED_DOF = 8.0
OWN_SPREAD_FROM = 3  # approaches: two say next to nothing about spread


@dataclass(frozen=True, slots=True)
class Slope:
    """mm per kPa or %, its standard uncertainty, and where it comes from: 'curve', 'model' or 'assumed'."""

    value: float
    standard_uncertainty: float
    source: str


def best_slope(
    curve: LocalCurve | None,
    specification: Specification,
    policy: Policy,
    pooled: PooledSlope | None,
    noise: tuple[float, float] = (0.0, 0.0),
) -> Slope:
    """The best slope known at the setting: this stroke's own, else its model's, else a stated assumption.

    ``noise`` holds the standard uncertainties of one reading of travel (mm) and of stimulus (kPa or %).
    """
    if curve is not None:
        return Slope(curve.slope, slope_uncertainty(curve, *noise), "curve")
    if pooled is not None:
        return Slope(pooled.slope, pooled.spread, "model")
    value = policy.assumed_slope_share * specification.nominal_mm / (0.1 * specification.setting)
    return Slope(value, ASSUMED_SLOPE_HALF_WIDTH * value / ROOT_3, "assumed")


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Standard uncertainty of the mean of the approaches, its degrees of freedom, and its source."""

    standard_uncertainty: float
    dof: float
    source: str


def repeatability(travels: Sequence[float], policy: Policy, study: StudyFigures | None) -> Repeatability:
    """Repeatability of the mean of n approaches, from the best that is known.

    From a study: its s, undivided, since its dial was set up anew for every reading and the approaches of one stroke
    share a set-up; where the approaches' own s/√n is larger, that. Without a study: their s/√n from three on, else the
    policy's assumption.
    """
    n = len(travels)
    root = math.sqrt(max(n, 1))
    own = None
    if n >= OWN_SPREAD_FROM:
        own = Repeatability(stdev(travels) / root, float(n - 1), f"repeatability, {n} approaches")
    if study is not None:
        studied = Repeatability(study.repeatability_mm, study.repeatability_dof, f"repeatability, study {study.name}")
        return own if own and own.standard_uncertainty > studied.standard_uncertainty else studied
    return own or Repeatability(policy.assumed_repeatability_mm / root, ASSUMED_DOF, "repeatability, assumed")


@dataclass(frozen=True, slots=True)
class Setting:
    """What is to be read at the setting: mean of the approaches, and the indications behind it."""

    stimulus: float  # mean corrected stimulus
    travel_mm: float  # mean corrected travel at that stimulus
    dial_indication: float
    dial_zero: float
    stimulus_reading: float  # in the instrument's own unit
    stimulus_zero: float  # indicated, kPa or %
    stimulus_shown: float  # indicated above zero, kPa or %: where the certificate is read
    return_mm: float
    return_stimulus: float


def setting_of(evidence: Evidence, point: Point, reading: Reading) -> Setting:
    """Average the approaches of a stroke; ``point`` and ``reading`` are those of the one that counts."""
    points = [point, *evidence.repeats]
    n = len(points)
    zero_stimulus, zero_mm = evidence.zero
    return Setting(
        stimulus=sum(p for p, _ in points) / n,
        travel_mm=sum(x for _, x in points) / n,
        dial_indication=reading.travel_mm or 0.0,
        dial_zero=zero_mm,
        stimulus_reading=reading.stimulus,
        stimulus_zero=zero_stimulus,
        stimulus_shown=evidence.channels.stimulus_indication(reading.stimulus) - zero_stimulus,
        return_mm=evidence.return_mm,
        return_stimulus=evidence.return_stimulus,
    )


def reading_noise(channels: Channels, policy: Policy, study: StudyFigures | None) -> tuple[float, float]:
    """Standard uncertainties of one reading: travel in mm (reading and repeatability), stimulus in kPa or %."""
    read, stimulus = _read(channels, "dial"), _read(channels, "stimulus")
    if study is not None:
        return max(read, study.repeatability_mm), stimulus
    return math.hypot(read, policy.assumed_repeatability_mm), stimulus


def _read(channels: Channels, which: str) -> float:
    """Reading a scale to a share of a division: rectangular, half-width half that share."""
    if which == "dial":
        dial = channels.instruments.dial
        return 0.5 * dial.read_to * dial.division_mm / ROOT_3
    return 0.5 * channels.instruments.stimulus.read_to * channels.stimulus_resolution / ROOT_3


def budget_lines(
    channels: Channels,
    specification: Specification,
    setting: Setting,
    slope: Slope,
    repeat: Repeatability,
    study: StudyFigures | None,
) -> list[BudgetLine]:
    """Every line of the budget of the travel at the setting, in mm.

    x_set = (c(x) - c(x_0)) * factor - slope * (p - p_set); sensitivities are its first derivatives. The one
    second-order term that is felt, of slope and stimulus, is a line of its own (JCGM 100, 5.1.2, note). With a study
    nothing is counted twice.
    """
    lines = _travel_lines(channels, setting)
    lines.append(_line("w", repeat.source, 0.0, "mm", repeat.standard_uncertainty, "t", 1.0, repeat.dof))
    if study is not None:
        source, u = f"reproducibility, study {study.name}", study.reproducibility_mm
        lines.append(_line("o", source, 0.0, "mm", u, "t", 1.0, study.reproducibility_dof))
    stimulus = _stimulus_lines(channels, specification, setting, slope.value)
    away = setting.stimulus - specification.setting
    together = slope.standard_uncertainty * stimulus_uncertainty(stimulus, channels.sensitivity)
    lines += stimulus + _slope_lines(slope, f"mm/{channels.unit}", -away, together)
    return lines if study is None else _counted_once(lines)


def _counted_once(lines: Sequence[BudgetLine]) -> list[BudgetLine]:
    """Leave out what a study has seen already: reading the scales scatters its readings as it does a check's.

    Of its repeatability and the four readings together only the larger counts: a check with coarser scales than the
    study's is not called finer than they are. Certificates, alignment and what did not return to zero stay: readings
    with one set of instruments share them, or they are this stroke's own. Source: ISO 22514-7:2012, the larger of
    u(RE) and u(EVR) (from memory).
    """
    read = math.hypot(*(line.contribution_mm for line in lines if line.symbol in READING_SYMBOLS))
    repeat = next(line.contribution_mm for line in lines if line.symbol == "w")
    held, why = (READING_SYMBOLS, "held in the repeatability") if repeat >= read else ({"w"}, "held in the readings")
    return [
        replace(line, source=f"{line.source}, {why}", standard_uncertainty=0.0, contribution_mm=0.0, dof=math.inf)
        if line.symbol in held
        else line
        for line in lines
    ]


def _slope_lines(slope: Slope, unit: str, sensitivity: float, together: float) -> list[BudgetLine]:
    """Slope, and the product of its doubt with that of the stimulus: second order, and felt where a curve is short."""
    distribution = "rectangular" if slope.source == "assumed" else "normal"
    source, u = f"slope, {slope.source}", slope.standard_uncertainty
    return [
        _line("s", source, slope.value, unit, u, distribution, sensitivity),
        _line("s_p", "slope and stimulus together", 0.0, "mm", together, "normal", 1.0),
    ]


def _travel_lines(channels: Channels, setting: Setting) -> list[BudgetLine]:
    factor, read = channels.factor, _read(channels, "dial")
    plain = setting.travel_mm / factor
    known = channels.dial.standard_uncertainty(setting.dial_indication)
    calibration = channels.instruments.dial.permissible_error_mm / ROOT_3 if known is None else known
    shape = "rectangular" if known is None else "normal"
    return [
        _line("x", "dial reading", setting.dial_indication, "mm", read, "rectangular", factor),
        _line("x_0", "dial zero reading", setting.dial_zero, "mm", read, "rectangular", -factor),
        _line(
            "r_x", "dial zero return", setting.return_mm, "mm", abs(setting.return_mm) / ROOT_3, "rectangular", factor
        ),
        _line("c_x", "dial calibration", 0.0, "mm", calibration, shape, factor),
        _line("f", "alignment of the dial", factor, "1", channels.factor_uncertainty, "rectangular", plain),
    ]


def _stimulus_lines(
    channels: Channels, specification: Specification, setting: Setting, slope: float
) -> list[BudgetLine]:
    unit, read = channels.unit, _read(channels, "stimulus")
    name = "command" if unit == "%" else "pressure"
    stimulus = channels.instruments.stimulus
    known = channels.stimulus.standard_uncertainty(setting.stimulus_shown)
    calibration = stimulus.permissible_error / ROOT_3 if known is None else known
    shape = "rectangular" if known is None else "normal"
    residual = setting.return_stimulus
    lines = [
        _line("p", f"{name} reading", setting.stimulus, unit, read, "rectangular", -slope),
        _line("p_0", f"{name} zero reading", setting.stimulus_zero, unit, read, "rectangular", slope),
        _line("r_p", f"{name} zero return", residual, unit, abs(residual) / ROOT_3, "rectangular", -slope),
        _line("c_p", f"{name} calibration", 0.0, unit, calibration, shape, -slope),
    ]
    if stimulus.meter is not None and channels.meter is not None:
        lines.append(
            _meter_line(stimulus.meter, channels.meter, setting.stimulus_reading, -slope / channels.sensitivity)
        )
    return lines


def _meter_line(meter: Meter, ready: Correction, reading: float, sensitivity: float) -> BudgetLine:
    known = ready.standard_uncertainty(reading)
    u = (meter.error_share * abs(reading) + meter.error_fixed) / ROOT_3 if known is None else known
    shape = "rectangular" if known is None else "normal"
    return _line("e", "multimeter", reading, meter.electrical_unit, u, shape, sensitivity)


def _line(
    symbol: str,
    source: str,
    value: float,
    unit: str,
    standard_uncertainty: float,
    distribution: str,
    sensitivity: float,
    dof: float = math.inf,
) -> BudgetLine:
    return BudgetLine(
        symbol=symbol,
        source=source,
        value=value,
        unit=unit,
        standard_uncertainty=standard_uncertainty,
        distribution=distribution,
        sensitivity=sensitivity,
        contribution_mm=abs(sensitivity) * standard_uncertainty,
        dof=dof,
    )


STIMULUS_SYMBOLS = frozenset({"p", "p_0", "r_p", "c_p", "e"})
READING_SYMBOLS = frozenset({"x", "x_0", "p", "p_0"})


def stimulus_uncertainty(lines: Sequence[BudgetLine], sensitivity: float) -> float:
    """Standard uncertainty of the stimulus (kPa or %) from its lines of a budget.

    ``sensitivity`` is the transducer's (1 for others), which brings the multimeter's line to kPa.
    """
    squares = 0.0
    for line in lines:
        if line.symbol in STIMULUS_SYMBOLS:
            u = line.standard_uncertainty
            squares += (u / sensitivity if line.symbol == "e" else u) ** 2
    return math.sqrt(squares)
