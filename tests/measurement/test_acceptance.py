"""Fitness of an instrument set, told before the check."""

from dataclasses import replace
from datetime import date

import pytest

from checks.measurement.acceptance import acceptance
from checks.measurement.assess import assess
from checks.measurement.calibration import Alignment, Geometry
from checks.measurement.correction import alignment_factor
from checks.measurement.errors import MeasurementError
from checks.measurement.specification import Policy, State, Stimulus
from checks.measurement.stroke import PooledSlope, StudyFigures
from tests.measurement.making import (
    DAY,
    certificate,
    command_tool,
    dial,
    gauge,
    instruments,
    meter,
    reading_only,
    specification,
    transducer,
)

SLOPE = PooledSlope(slope=0.025, spread=0.003, count=20)
ROUGH = gauge(certificate=certificate((0, 0, 40.0), (400, 0, 40.0)))


def fitness(tools=None, spec=None, slope=SLOPE, on=DAY, **more):
    return acceptance(spec or specification(), tools or instruments(), slope=slope, on=on, **more)


def test_a_fit_set_has_limits_inside_the_window_and_no_problem():
    made = fitness()
    assert made.problems == ()
    assert 1.0 < made.low_mm < made.high_mm < 2.0
    assert made.test_uncertainty_ratio == pytest.approx(1.0 / (2.0 * made.expanded_uncertainty_mm))


@pytest.mark.parametrize(("beyond", "state"), [(-0.0005, State.UNDECIDED), (0.0005, State.INSIDE)])
def test_the_limits_foretell_the_verdict(beyond, state):
    """A reading just inside a limit is proven, one just outside is not (same slope, same day)."""
    made = fitness()
    for limit, side in ((made.low_mm, 1.0), (made.high_mm, -1.0)):
        result = assess(reading_only(limit + side * beyond), specification(), instruments(), model_slope=SLOPE)
        assert result.state is state


@pytest.mark.parametrize("geometry", list(Geometry))
@pytest.mark.parametrize("angle", [0.0, 5.0, 25.0])
@pytest.mark.parametrize("slope", [SLOPE, None])
def test_a_reading_at_a_limit_is_inside_with_exactly_the_policys_level(geometry, angle, slope):
    """Definition of an acceptance limit, JCGM 106:2012, 3.3.9; the budget at the limit is not that at nominal."""
    tools = instruments(alignment=Alignment(geometry=geometry, angle_max_deg=angle))
    factor = alignment_factor(tools.alignment)[0]
    made = fitness(tools, slope=slope)
    for limit in (made.low_mm, made.high_mm):
        result = assess(reading_only(limit / factor), specification(), tools, model_slope=slope)
        assert result.p_inside == pytest.approx(0.95, abs=1e-6)


def test_a_meter_not_calibrated_at_the_zero_of_its_transducer_is_told_before_the_check():
    far = transducer(offset=10.0, meter=meter(certificate=certificate((20, 0, 0.02), (200, 0, 0.02))))
    assert "of the multimeter" in fitness(instruments(far)).problems[0]
    short = transducer(meter=meter(certificate=certificate((0, 0, 0.02), (40, 0, 0.02))))
    assert "of the multimeter" in fitness(instruments(short)).problems[0]


def test_the_uncertainty_told_ahead_is_the_one_found():
    found = assess(reading_only(1.5), specification(), instruments(), model_slope=SLOPE)
    assert fitness().expanded_uncertainty_mm == pytest.approx(found.expanded_uncertainty_mm, rel=1e-12)


def test_a_transducer_is_told_ahead_through_its_meter():
    exact = fitness(instruments(transducer()))
    rough = fitness(instruments(transducer(meter=meter(certificate=certificate(), error_fixed=2.0))))
    assert rough.expanded_uncertainty_mm > 2.0 * exact.expanded_uncertainty_mm


def test_instruments_that_cannot_prove_the_window_say_so():
    made = fitness(instruments(ROUGH))
    assert (made.low_mm, made.high_mm) == (None, None)
    assert made.test_uncertainty_ratio < 1.0
    assert "Cannot prove this window" in made.problems[0]


def test_an_assumed_slope_is_named_where_it_may_be_the_reason():
    assert "slope is assumed" in fitness(instruments(ROUGH), slope=None).problems[0]
    assert fitness(slope=None).problems == ()


@pytest.mark.parametrize(
    ("on", "words"), [(date(2025, 6, 1), "first certified"), (date(2027, 6, 1), "due for calibration")]
)
def test_a_set_out_of_date_on_the_day_names_each_instrument(on, words):
    problems = fitness(instruments(transducer()), on=on).problems
    assert len(problems) == 3
    assert all(words in problem for problem in problems)


def test_an_instrument_never_certified_is_named():
    assert "no calibration certificate" in fitness(instruments(gauge(certificate=None))).problems[0]


@pytest.mark.parametrize(
    ("tools", "words"),
    [
        (instruments(gauge(range_high=150.0)), "outside the range of PG-1"),
        (instruments(travel=dial(range_mm=1.8)), "reaches 1.8 mm"),
        (instruments(gauge(certificate=certificate((0, 0, 1), (150, 0, 1)))), "calibrated range"),
        (instruments(travel=dial(certificate=certificate((0, 0, 0.01), (1.5, 0, 0.01)))), "calibrated range"),
        (instruments(command_tool()), "works in %"),
    ],
)
def test_a_set_that_does_not_reach_says_where(tools, words):
    assert any(words in problem for problem in fitness(tools).problems)


def test_a_tilted_dial_must_reach_further():
    point = Alignment(angle_deg=30.0)
    assert any(
        "reaches" in problem for problem in fitness(instruments(travel=dial(range_mm=2.1), alignment=point)).problems
    )
    assert fitness(instruments(travel=dial(range_mm=2.1))).problems == ()


def test_a_command_tool_is_fit_for_an_electric_actuator():
    spec = specification(stimulus=Stimulus.ELECTRIC, setting=60.0, stimulus_max=100.0, capture_tolerance=0.5)
    assert fitness(instruments(command_tool()), spec, PooledSlope(slope=0.05, spread=0.005, count=9)).problems == ()


def test_a_depot_that_measures_loosely_has_narrower_limits():
    loose = StudyFigures(repeatability_mm=0.05, repeatability_dof=30, reproducibility_mm=0.05, reproducibility_dof=4)
    assert fitness(study=loose).low_mm > fitness().low_mm


def test_a_stricter_policy_has_narrower_limits():
    strict = fitness(policy=Policy(inside_level=0.99))
    assert strict.low_mm > fitness().low_mm
    assert strict.high_mm < fitness().high_mm


def test_a_window_out_of_order_is_an_error_and_not_a_problem():
    with pytest.raises(MeasurementError):
        fitness(spec=replace(specification(), lower_mm=3.0))
