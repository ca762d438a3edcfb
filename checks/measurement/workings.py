"""The working sheet of one stroke: everything found and computed before the verdict."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from checks.measurement.adjustment import RecordedAdjustment
from checks.measurement.bend import Bent, curvature, needs_propagation
from checks.measurement.budget import Combined, combine_lines
from checks.measurement.calibration import InstrumentSet
from checks.measurement.correction import Channels
from checks.measurement.curve import LocalCurve, hinge, hysteresis, leak_rate, local_curve, sticking
from checks.measurement.evidence import Evidence, Point, gather
from checks.measurement.result import BudgetLine, CurveFeatures, Estimate, Void
from checks.measurement.specification import Policy, Specification, Stimulus
from checks.measurement.stroke import PooledSlope, Stroke, StudyFigures
from checks.measurement.travel import (
    Slope,
    best_slope,
    budget_lines,
    reading_noise,
    repeatability,
    setting_of,
    stimulus_uncertainty,
)
from checks.measurement.voids import find_voids


@dataclass(frozen=True, slots=True)
class Case:
    """The inputs of one assessment."""

    stroke: Stroke
    specification: Specification
    instruments: InstrumentSet
    policy: Policy = field(default_factory=Policy)
    model_slope: PooledSlope | None = None
    study: StudyFigures | None = None
    adjustments: Sequence[RecordedAdjustment] = ()


@dataclass(frozen=True, slots=True)
class Measured:
    """Travel at the setting (mm) to first order, with what it rests on."""

    travel_mm: float
    slope: Slope
    lines: tuple[BudgetLine, ...]
    combined: Combined
    stimulus_u: float  # kPa or %
    kappa: float
    bent: bool


@dataclass(frozen=True, slots=True)
class Workings:
    """Voids, features and, where the stroke allows any travel at all, the measured travel."""

    evidence: Evidence
    voids: tuple[Void, ...]
    features: CurveFeatures
    curve: LocalCurve | None
    measured: Measured | None


def work(case: Case, channels: Channels) -> Workings:
    """Work out one stroke up to the first-order result."""
    evidence = gather(case.stroke, case.specification, channels)
    noise = reading_noise(channels, case.policy, case.study)
    curve = None
    if evidence.setting is not None:
        curve = local_curve(evidence.rise, evidence.setting, case.specification.setting)
    slope = best_slope(curve, case.specification, case.policy, case.model_slope, noise)
    features = _features(evidence, curve, slope, noise)
    return Workings(evidence, find_voids(evidence), features, curve, _measure(case, evidence, curve, slope, features))


def _measure(
    case: Case, evidence: Evidence, curve: LocalCurve | None, slope: Slope, features: CurveFeatures
) -> Measured | None:
    spec, channels, point, final = case.specification, evidence.channels, evidence.setting, evidence.final
    if point is None or final is None or final.reading is None or evidence.parts.zero is None:
        return None
    at_setting = [x - slope.value * (p - spec.setting) for p, x in (point, *evidence.repeats)]
    travel = sum(at_setting) / len(at_setting)
    repeat = repeatability(at_setting, case.policy, case.study)
    lines = budget_lines(channels, spec, setting_of(evidence, point, final.reading), slope, repeat, case.study)
    combined = combine_lines(lines, case.policy.coverage_probability)
    stimulus_u = stimulus_uncertainty(lines, channels.sensitivity)
    kappa = curvature(curve.bend if curve else 0.0, stimulus_u, combined.standard_uncertainty)
    begin = features.start.value if features.start else _line_start(travel, slope.value, spec.setting)
    bent = needs_propagation(kappa, begin, spec.setting, stimulus_u)
    return Measured(travel, slope, tuple(lines), combined, stimulus_u, kappa, bent)


def _line_start(travel: float, slope: float, setting: float) -> float:
    """Where a straight rise through the reading would begin; nowhere near for a rod that does not move."""
    return setting - max(travel, 0.0) / slope if slope > 0.0 else -math.inf


def _features(evidence: Evidence, curve: LocalCurve | None, slope: Slope, noise: tuple[float, float]) -> CurveFeatures:
    rise: list[Point] = [*evidence.rise, evidence.setting] if evidence.setting is not None else evidence.rise
    fitted = hinge(rise)
    start = fitted[0] if fitted is not None else None
    one = math.hypot(noise[0], slope.value * noise[1])
    setting = evidence.specification.setting
    points = [("rise", p, x) for p, x in evidence.rise]
    if evidence.setting is not None:
        points.append(("setting", *evidence.setting))
    points += [("fall", p, x) for p, x in evidence.fall]
    return CurveFeatures(
        start=start,
        slope=Estimate(value=slope.value, standard_uncertainty=slope.standard_uncertainty)
        if curve is not None
        else None,
        hysteresis=hysteresis(curve, evidence.fall, setting, one),
        sticking=sticking(rise, start.value if start else None, one),
        leak_rate=_leak(evidence, noise[1]),
        points=tuple(points),
    )


def _leak(evidence: Evidence, noise: float) -> Estimate | None:
    hold = evidence.parts.hold
    if not hold or evidence.specification.stimulus is not Stimulus.PNEUMATIC:
        return None
    return leak_rate(hold, 1.0 / evidence.channels.sensitivity, noise)


def bent_case(case: Case, measured: Measured, curve: LocalCurve | None) -> Bent:
    """What the propagation through the bent curve needs of a stroke."""
    pressure = measured.slope.value * measured.stimulus_u
    return Bent(
        travel_mm=measured.travel_mm,
        setting=case.specification.setting,
        slope=measured.slope.value,
        curve=curve,
        stimulus_u=measured.stimulus_u,
        rest_u=math.sqrt(max(0.0, measured.combined.standard_uncertainty**2 - pressure**2)),
        lower_mm=case.specification.lower_mm,
        upper_mm=case.specification.upper_mm,
    )
