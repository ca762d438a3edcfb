"""Whole budgets by hand: every term written out from the formulas, for instruments of each kind and unit.

Source: JCGM 100:2008, 4.3.7 (rectangular half-widths), 5.1.2 (sum), 5.1.2 note (product of two doubts), G.4.1
(effective degrees of freedom, truncated); NIST SP 811, B.8 for psi and inch. Quantiles and interpolation by scipy.
Nothing below is taken from the core but its inputs and its answer.
"""

from math import asinh, cos, floor, hypot, radians, sqrt, tan

import numpy as np
import pytest
from scipy import interpolate, stats

from checks.measurement.assess import assess
from checks.measurement.calibration import Alignment, Geometry
from checks.measurement.result import Assessment
from checks.measurement.specification import Stimulus
from checks.measurement.stroke import Phase, PooledSlope, Reading, Stroke, StudyFigures
from tests.measurement.making import (
    certificate,
    command_tool,
    dial,
    gauge,
    instruments,
    meter,
    specification,
    stroke,
    transducer,
)

INCH, PSI = 25.4, 6.894757293168361
SLOPE = PooledSlope(slope=0.03, spread=0.004, count=30)
ROOT_3 = sqrt(3.0)


def read(travel, stimulus, zero=0.0, zero_mm=0.0, back=0.0, back_mm=0.0, highest=None, earlier=()) -> Stroke:
    cycle = Reading(phase=Phase.EXERCISE, stimulus=stimulus if highest is None else highest)
    return stroke(
        Reading(phase=Phase.ZERO, stimulus=zero, travel_mm=zero_mm),
        *[cycle] * 3,
        Reading(phase=Phase.ZERO_RETURN, stimulus=zero + back, travel_mm=zero_mm + back_mm),
        *earlier,
        Reading(phase=Phase.SETTING, stimulus=stimulus, travel_mm=travel),
    )


def agrees(result: Assessment, travel: float, terms: list[float], uncertain: list[tuple[float, float]], window) -> bool:
    """Compare with a sum of squares of ``terms`` and of ``uncertain`` (contribution, degrees of freedom)."""
    variance = sum(t * t for t in terms) + sum(t * t for t, _ in uncertain)
    fourth = sum(t**4 / dof for t, dof in uncertain)
    u, k = sqrt(variance), stats.t.ppf(0.975, floor(variance**2 / fourth))
    inside = stats.norm.cdf((window[1] - travel) / u) - stats.norm.cdf((window[0] - travel) / u)
    found = [
        result.travel_mm,
        result.standard_uncertainty_mm,
        result.coverage_factor,
        result.expanded_uncertainty_mm,
        result.p_inside,
    ]
    # Beyond 10,000 degrees of freedom the core takes the normal factor, 3e-5 away at most.
    return result.method == "first_order" and found == pytest.approx([travel, u, k, k * u, inside], rel=5e-5, abs=1e-9)


PSI_WINDOW = (0.038 * INCH, 0.080 * INCH)
PSI_SPEC = specification(
    setting=31 * PSI,
    lower_mm=PSI_WINDOW[0],
    nominal_mm=0.059 * INCH,
    upper_mm=PSI_WINDOW[1],
    stimulus_max=43 * PSI,
    capture_tolerance=0.31 * PSI,
    zero_tolerance_stimulus=0.2 * PSI,
    zero_tolerance_mm=0.001 * INCH,
)
PSI_GAUGE = gauge(
    resolution=0.5 * PSI,
    read_to=0.5,
    range_high=60 * PSI,
    certificate=certificate(*((p * PSI, 0.005 * p * PSI, 0.3 * PSI) for p in (0, 20, 40, 60))),
)
THOU_DIAL = dial(
    division_mm=0.001 * INCH,
    range_mm=0.5 * INCH,
    certificate=certificate((0, 0, 0.0004 * INCH), (0.5 * INCH, 0, 0.0004 * INCH)),
)
TWELVE, FIFTEEN, FIVE = radians(12), radians(15), radians(5)
# Mean and standard deviation of cos and of 1/cos over equally likely angles, by integration.
ALIGNMENTS = [
    (Alignment(angle_deg=0.0), 1.0, 0.0),
    (Alignment(geometry=Geometry.ROD_POINT, angle_deg=12.0), 1.0 / cos(TWELVE), 0.0),
    (
        Alignment(geometry=Geometry.ROD_POINT, angle_max_deg=15.0),
        asinh(tan(FIFTEEN)) / FIFTEEN,
        sqrt(tan(FIFTEEN) / FIFTEEN - (asinh(tan(FIFTEEN)) / FIFTEEN) ** 2),
    ),
    (
        Alignment(angle_max_deg=5.0),
        np.sin(FIVE) / FIVE,
        sqrt(0.5 + np.sin(2 * FIVE) / (4 * FIVE) - (np.sin(FIVE) / FIVE) ** 2),
    ),
]


@pytest.mark.parametrize(("alignment", "factor", "u_factor"), ALIGNMENTS)
@pytest.mark.parametrize(("studied", "repeat"), [(False, 0.0), (True, 0.008), (True, 0.035)])
def test_a_gauge_in_psi_and_a_dial_in_thou(alignment, factor, u_factor, studied, repeat):
    study = StudyFigures(repeatability_mm=repeat, repeatability_dof=24, reproducibility_mm=0.012, reproducibility_dof=2)
    made = read(0.0595 * INCH, 31.25 * PSI, 0.25 * PSI, 0.001 * INCH, -0.1 * PSI, 0.0005 * INCH, 35 * PSI)
    tools = instruments(PSI_GAUGE, THOU_DIAL, alignment)
    result = assess(made, PSI_SPEC, tools, model_slope=SLOPE, study=study if studied else None)

    away = 31.0 * PSI * (1 - 0.005) - 31.0 * PSI
    dial_read, gauge_read = 0.25 * 0.001 * INCH / ROOT_3, 0.25 * 0.5 * PSI / ROOT_3
    u_p = sqrt(2 * gauge_read**2 + (0.1 * PSI / ROOT_3) ** 2 + (0.15 * PSI) ** 2)
    plain = 0.0585 * INCH
    readings = [factor * dial_read, factor * dial_read, 0.03 * gauge_read, 0.03 * gauge_read]
    terms = [
        factor * 0.0005 * INCH / ROOT_3,
        factor * 0.0002 * INCH,
        plain * u_factor,
        0.03 * hypot(0.1 * PSI / ROOT_3, 0.15 * PSI),
        away * 0.004,
        0.004 * u_p,
    ]
    # Of a study's repeatability and the readings the larger counts: ISO 22514-7:2012 (from memory).
    uncertain = [(repeat, 24.0), (0.012, 2.0)] if studied else [(0.01, 8.0)]
    if not studied or hypot(*readings) > repeat:
        terms += readings
        uncertain = uncertain[1:] if studied else uncertain
    assert agrees(result, plain * factor - 0.03 * away, terms, uncertain, PSI_WINDOW)


@pytest.mark.parametrize(
    ("unit", "sensitivity", "offset", "digit", "share", "fixed"),
    [
        ("mV", 0.25, 1.0, 0.01, 0.0005, 0.02),
        ("V", 0.01, 0.5, 0.001, 0.0005, 0.002),
        ("mA", 0.04, 4.0, 0.001, 0.0002, 0.004),
        ("V", -0.01, 9.0, 0.001, 0.0005, 0.002),
    ],
)
def test_a_transducer_on_a_multimeter_in_any_unit_with_any_sign(unit, sensitivity, offset, digit, share, fixed):
    told = meter(
        electrical_unit=unit, resolution=digit, error_share=share, error_fixed=fixed, certificate=certificate()
    )
    points = [(0, 0, 0.6), (100, 0.4, 0.6), (200, 0.9, 0.8), (300, 1.0, 1.0)]
    tool = transducer(
        sensitivity=sensitivity, offset=offset, resolution=digit, meter=told, certificate=certificate(*points)
    )
    shown = [offset + sensitivity * p for p in (0.3, 200.9, 210.0)]
    result = assess(
        read(1.5, shown[1], shown[0], highest=shown[2]), specification(), instruments(tool), model_slope=SLOPE
    )

    at, errors, expanded = zip(*points, strict=True)
    net = 200.6
    away = net - float(interpolate.PchipInterpolator(at, errors)(net)) - 200.0
    pressure_read = 0.5 * digit / abs(sensitivity) / ROOT_3
    u_meter = (share * abs(shown[1]) + fixed) / ROOT_3 / abs(sensitivity)
    u_p = sqrt(2 * pressure_read**2 + np.interp(net, at, np.array(expanded) / 2) ** 2 + u_meter**2)
    dial_read = 0.0025 / ROOT_3
    terms = [dial_read, dial_read, 0.003, 0.03 * u_p, away * 0.004, 0.004 * u_p]
    assert agrees(result, 1.5 - 0.03 * away, terms, [(0.01, 8.0)], (1.0, 2.0))


def test_an_electric_actuator_commanded_in_percent():
    spec = specification(
        stimulus=Stimulus.ELECTRIC, setting=60.0, stimulus_max=100.0, capture_tolerance=0.6, zero_tolerance_stimulus=0.5
    )
    slope = PooledSlope(slope=0.05, spread=0.01, count=9)
    result = assess(read(1.52, 60.2), spec, instruments(command_tool()), model_slope=slope)
    u_p = hypot(sqrt(2) * 0.05 / ROOT_3, 0.3 / ROOT_3)
    dial_read = 0.0025 / ROOT_3
    terms = [dial_read, dial_read, 0.003, 0.05 * u_p, 0.2 * 0.01, 0.01 * u_p]
    assert agrees(result, 1.52 - 0.05 * 0.2, terms, [(0.01, 8.0)], (1.0, 2.0))


def test_an_assumed_slope_is_half_the_nominal_over_a_tenth_of_the_setting():
    """Rectangular from half to one and a half times itself: common practice, no source."""
    result = assess(read(1.5, 201.0), specification(), instruments())
    slope = 0.5 * 1.5 / 20.0
    u_slope = 0.5 * slope / ROOT_3
    u_p = sqrt(2 * (0.25 / ROOT_3) ** 2 + 0.5**2)
    dial_read = 0.0025 / ROOT_3
    terms = [dial_read, dial_read, 0.003, slope * u_p, u_slope, u_slope * u_p]
    assert agrees(result, 1.5 - slope, terms, [(0.01, 8.0)], (1.0, 2.0))


def test_four_approaches_speak_for_themselves():
    travels, stimuli = np.array([1.50, 1.53, 1.48, 1.51]), np.array([200.0, 201.0, 199.5, 200.5])
    earlier = []
    for x, p in zip(travels[:-1], stimuli[:-1], strict=True):
        earlier += [
            Reading(phase=Phase.SETTING, stimulus=p, travel_mm=x),
            Reading(phase=Phase.VENT, stimulus=0.0, travel_mm=0.0),
        ]
    made = read(travels[-1], stimuli[-1], earlier=earlier)
    result = assess(made, specification(), instruments(), model_slope=SLOPE)
    at_setting = travels - 0.03 * (stimuli - 200.0)
    u_p = sqrt(2 * (0.25 / ROOT_3) ** 2 + 0.5**2)
    dial_read = 0.0025 / ROOT_3
    terms = [dial_read, dial_read, 0.003, 0.03 * u_p, (stimuli.mean() - 200.0) * 0.004, 0.004 * u_p]
    spread = [(at_setting.std(ddof=1) / 2.0, 3.0)]
    assert agrees(result, at_setting.mean(), terms, spread, (1.0, 2.0))
