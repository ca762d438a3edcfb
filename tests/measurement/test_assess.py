"""One call from stroke to verdict, and the inputs that it refuses."""

import pickle
from dataclasses import replace
from datetime import date

import pytest

from checks.measurement.assess import assess, assess_many
from checks.measurement.errors import MeasurementError
from checks.measurement.specification import Policy, State, Stimulus
from checks.measurement.stroke import Phase, PooledSlope, Reading, StudyFigures
from checks.measurement.workings import Case
from tests.measurement.making import (
    bent,
    certificate,
    command_tool,
    gauge,
    good_stroke,
    instruments,
    opening,
    reading_only,
    rise,
    specification,
    straight,
    stroke,
)


@pytest.mark.parametrize(
    ("slope", "state"),
    [
        (0.025, State.INSIDE),
        (0.01, State.OUTSIDE_LOW),
        (0.04, State.OUTSIDE_HIGH),
        (1.0 / 60.0, State.UNDECIDED),
        (2.0 / 60.0, State.UNDECIDED),
    ],
)
def test_every_state_is_reached(slope, state):
    assert assess(good_stroke(straight(slope)), specification(), instruments()).state is state


def test_a_rod_that_does_not_move_is_outside_low():
    result = assess(good_stroke(lambda p: 0.0), specification(), instruments())
    assert (result.state, result.travel_mm) == (State.OUTSIDE_LOW, pytest.approx(0.0))


def test_an_as_left_stroke_is_judged_like_any_other():
    left = stroke(*opening(), *rise(straight(0.026)), made_on=date(2026, 6, 2))
    assert assess(left, specification(), instruments()).state is State.INSIDE


def test_the_interval_is_travel_and_expanded_uncertainty():
    result = assess(good_stroke(), specification(), instruments())
    assert result.method == "first_order"
    half = result.expanded_uncertainty_mm
    assert result.interval_mm == pytest.approx((result.travel_mm - half, result.travel_mm + half))


def test_the_probabilities_of_a_verdict_add_up():
    result = assess(good_stroke(straight(1.0 / 60.0)), specification(), instruments())
    assert result.p_inside + result.p_below + result.p_above == pytest.approx(1.0)


def test_a_stricter_policy_decides_less():
    made = good_stroke(straight(0.0173))
    assert assess(made, specification(), instruments()).state is State.INSIDE
    assert assess(made, specification(), instruments(), Policy(inside_level=0.9999)).state is State.UNDECIDED


def test_the_coverage_probability_widens_the_interval_and_leaves_the_verdict():
    wide = assess(good_stroke(), specification(), instruments(), Policy(coverage_probability=0.99))
    plain = assess(good_stroke(), specification(), instruments())
    assert wide.expanded_uncertainty_mm > plain.expanded_uncertainty_mm
    assert wide.p_inside == plain.p_inside


def test_different_coverage_in_one_call_is_kept_apart():
    rough = instruments(gauge(certificate=certificate((0, 0, 6.0), (400, 0, 6.0))))
    made = good_stroke(bent(1.5, 2.2, 165.0))
    cases = [Case(made, specification(), rough, Policy(coverage_probability=p)) for p in (0.9, 0.99, 0.9)]
    widths = [r.interval_mm[1] - r.interval_mm[0] for r in assess_many(cases)]
    assert widths[0] == widths[2] < widths[1]


def test_a_result_is_frozen_and_survives_a_process_boundary():
    result = assess(good_stroke(), specification(), instruments())
    assert pickle.loads(pickle.dumps(result)) == result
    with pytest.raises(AttributeError):
        result.state = State.VOID


def test_an_error_survives_a_process_boundary():
    error = pickle.loads(pickle.dumps(MeasurementError("code", "field", "A sentence.")))
    assert (error.code, error.field, error.sentence, str(error)) == ("code", "field", "A sentence.", "A sentence.")


def test_nothing_in_is_nothing_out():
    assert assess_many([]) == []


def test_a_set_that_cannot_move_this_actuator_is_refused():
    with pytest.raises(MeasurementError) as caught:
        assess(good_stroke(), specification(), instruments(command_tool()))
    assert caught.value.code == "wrong_stimulus"


NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("changes", "code", "field"),
    [
        ({"setting": NAN}, "not_a_number", "setting"),
        ({"setting": 0.0}, "out_of_bounds", "setting"),
        ({"setting": -5.0}, "out_of_bounds", "setting"),
        ({"setting": 1e9}, "out_of_bounds", "setting"),
        ({"setting": 300.0}, "setting_not_below_maximum", "setting"),
        ({"stimulus_max": INF}, "not_a_number", "stimulus_max"),
        ({"lower_mm": 1.6}, "window_not_ordered", "nominal_mm"),
        ({"lower_mm": 2.0, "nominal_mm": 2.0}, "window_not_ordered", "nominal_mm"),
        ({"upper_mm": 1e9}, "out_of_bounds", "upper_mm"),
        ({"lower_mm": -0.1}, "out_of_bounds", "lower_mm"),
        ({"capture_tolerance": -1.0}, "out_of_bounds", "capture_tolerance"),
        ({"zero_tolerance_mm": NAN}, "not_a_number", "zero_tolerance_mm"),
        ({"exercise_cycles": -1}, "out_of_bounds", "exercise_cycles"),
        ({"thread_pitch_mm": 0.0}, "out_of_bounds", "thread_pitch_mm"),
        ({"adjustment_sign": 0}, "adjustment_sign", "adjustment_sign"),
        ({"adjustment_range_half_turns": -2}, "out_of_bounds", "adjustment_range_half_turns"),
    ],
)
def test_an_impossible_specification_is_refused_by_field(changes, code, field):
    with pytest.raises(MeasurementError) as caught:
        assess(good_stroke(), replace(specification(), **changes), instruments())
    assert (caught.value.code, caught.value.field) == (code, field)
    assert caught.value.sentence.endswith(".")


def test_an_electric_setting_may_lie_at_the_end_of_its_range():
    spec = specification(stimulus=Stimulus.ELECTRIC, setting=100.0, stimulus_max=100.0, capture_tolerance=0.5)
    readings = [*opening()[:1], *[Reading(phase=Phase.EXERCISE, stimulus=100.0)] * 3, *opening()[-1:]]
    made = stroke(*readings, Reading(phase=Phase.SETTING, stimulus=100.0, travel_mm=1.5))
    assert assess(made, spec, instruments(command_tool())).voids == ()


@pytest.mark.parametrize(
    ("policy", "field"),
    [
        (Policy(inside_level=0.3), "inside_level"),
        (Policy(inside_level=1.0), "inside_level"),
        (Policy(coverage_probability=NAN), "coverage_probability"),
        (Policy(assumed_repeatability_mm=0.0), "assumed_repeatability_mm"),
        (Policy(assumed_slope_share=-1.0), "assumed_slope_share"),
    ],
)
def test_an_impossible_policy_is_refused_by_field(policy, field):
    with pytest.raises(MeasurementError) as caught:
        assess(good_stroke(), specification(), instruments(), policy)
    assert caught.value.field == field


def test_an_impossible_slope_or_study_is_refused():
    with pytest.raises(MeasurementError):
        assess(reading_only(1.5), specification(), instruments(), model_slope=PooledSlope(slope=-1, spread=1, count=3))
    study = StudyFigures(repeatability_mm=-1, repeatability_dof=2, reproducibility_mm=0, reproducibility_dof=2)
    with pytest.raises(MeasurementError):
        assess(good_stroke(), specification(), instruments(), study=study)
