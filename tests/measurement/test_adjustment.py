"""Half turns: how many, which way, and when none."""

import math

import numpy as np
import pytest

from checks.measurement.adjustment import RecordedAdjustment, advise, gain_per_turn
from checks.measurement.assess import assess
from checks.measurement.errors import MeasurementError
from checks.measurement.specification import State
from tests.measurement.making import good_stroke, instruments, specification, straight

LOW = {"state": State.OUTSIDE_LOW, "travel_mm": 0.4, "standard_uncertainty_mm": 0.02, "coverage_factor": 2.0}


def advice(spec=None, recorded=(), **changes):
    return advise(**{**LOW, **changes}, specification=spec or specification(), recorded=recorded)


def recorded(half_turns: int, gained: float, u: float = 0.02) -> RecordedAdjustment:
    return RecordedAdjustment(
        half_turns=half_turns, as_found_mm=1.0, as_found_u_mm=u, as_left_mm=1.0 + gained, as_left_u_mm=u
    )


def test_too_little_travel_lengthens_the_rod():
    """1.1 mm short of nominal at 0.5 mm per half turn: two half turns leave 0.1 mm, three overshoot by 0.4."""
    made = advice()
    assert (made.half_turns, made.refusal) == (2, None)
    assert made.predicted_mm == pytest.approx(1.4)


def test_too_much_travel_shortens_it():
    made = advice(state=State.OUTSIDE_HIGH, travel_mm=2.6)
    assert made.half_turns == -2
    assert made.predicted_mm == pytest.approx(1.6)


def test_a_specification_of_the_other_sign_turns_the_other_way():
    assert advice(specification(adjustment_sign=-1)).half_turns == -2


@pytest.mark.parametrize(("pitch", "half_turns"), [(0.8, 3), (1.0, 2), (1.25, 2), (25.4 / 28, 2), (25.4 / 32, 3)])
def test_the_pitch_decides_the_number(pitch, half_turns):
    assert advice(specification(thread_pitch_mm=pitch)).half_turns == half_turns


def test_no_other_whole_number_comes_closer_to_nominal():
    for travel in np.arange(0.0, 0.95, 0.05):
        made = advice(travel_mm=float(travel))
        gain = 0.5
        others = [abs(1.5 - travel - n * gain) for n in range(-8, 9)]
        assert abs(1.5 - made.predicted_mm) == pytest.approx(min(others))


def test_the_prediction_carries_both_doubts():
    """u² = u_x² + turns² · u_gain²: one turn of a pitch known to a quarter."""
    made = advice()
    assert made.predicted_expanded_mm == pytest.approx(2.0 * math.hypot(0.02, 0.25))
    assert 0.9 < made.predicted_p_inside < 1.0


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"state": State.VOID}, "void"),
        ({"travel_mm": None}, "void"),
        ({"state": State.INSIDE, "travel_mm": 1.4}, "inside"),
        ({"state": State.UNDECIDED, "travel_mm": 1.01}, "undecided"),
        ({"spec": specification(thread_pitch_mm=None)}, "no_thread_pitch"),
        ({"spec": specification(adjustment_range_half_turns=1)}, "beyond_range"),
        ({"spec": specification(adjustment_range_half_turns=0)}, "beyond_range"),
        ({"travel_mm": 0.9, "spec": specification(thread_pitch_mm=5.0)}, "too_fine"),
        # Half turns of 1 mm from 0.4: 1.4 misses a window from 1.45 to 1.55 below, 2.4 far above.
        ({"travel_mm": 0.4, "spec": specification(lower_mm=1.45, upper_mm=1.55, thread_pitch_mm=2.0)}, "too_coarse"),
        ({"recorded": [recorded(4, -2.0, 0.001)]}, "unsure_direction"),
    ],
)
def test_refusals_give_their_reason(changes, code):
    made = advice(**changes)
    assert (made.half_turns, made.predicted_mm) == (None, None)
    assert made.refusal_code == code
    assert made.refusal.endswith(".")


def test_records_that_leave_the_direction_open_refuse():
    """Gains of +1 and -1 mm per turn, equally sure: their mean is nearly zero."""
    made = advice(recorded=[recorded(2, 1.0, 0.3), recorded(2, -1.2, 0.15)])
    assert made.refusal_code == "unsure_direction"


def test_without_records_the_gain_is_the_pitch_within_a_quarter():
    found = gain_per_turn(specification(thread_pitch_mm=0.8))
    assert (found.value, found.standard_uncertainty) == pytest.approx((0.8, 0.2))


def test_one_record_is_weighed_against_the_pitch():
    """Normal-normal update by hand: prior 1 ± 0.25, one turn gained 0.8 with u = hypot(0.02, 0.02)."""
    variance = 2.0 * 0.02**2
    precision = 1.0 / 0.25**2 + 1.0 / variance
    found = gain_per_turn(specification(), [recorded(2, 0.8)])
    assert found.value == pytest.approx((1.0 / 0.25**2 + 0.8 / variance) / precision)
    assert found.standard_uncertainty == pytest.approx(precision**-0.5)


def test_half_a_turn_teaches_less_than_three():
    few, many = (gain_per_turn(specification(), [recorded(n, 0.4 * n)]) for n in (1, 6))
    assert many.standard_uncertainty < few.standard_uncertainty


def test_the_order_of_records_does_not_matter():
    rows = [recorded(2, 0.8), recorded(-3, -1.3), recorded(1, 0.5)]
    one, other = gain_per_turn(specification(), rows), gain_per_turn(specification(), rows[::-1])
    assert one.value == pytest.approx(other.value)


def test_the_limits_of_the_gain_hold_what_they_promise():
    """2,000 models with a true gain drawn from the prior, ten records each: 95 % limits cover 95 %."""
    rng, hits = np.random.default_rng(8), 0
    for _ in range(2000):
        true = rng.normal(1.0, 0.25)
        rows = [recorded(2, true + rng.normal(0.0, 0.05 * math.sqrt(2.0)), 0.05) for _ in range(10)]
        found = gain_per_turn(specification(), rows)
        hits += abs(found.value - true) < 1.96 * found.standard_uncertainty
    assert hits / 2000 == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize(
    ("half_turns", "gained", "u", "field"),
    [
        (0, 0.0, 0.02, "half_turns"),
        (2, math.nan, 0.02, "as_left_mm"),
        (2, 1.0, 0.0, "as_found_u_mm"),
        (2, 1.0, math.inf, "as_found_u_mm"),
    ],
)
def test_a_record_that_teaches_nothing_is_refused(half_turns, gained, u, field):
    with pytest.raises(MeasurementError) as caught:
        gain_per_turn(specification(), [recorded(half_turns, gained, u)])
    assert caught.value.field == field


def test_an_assessment_brings_its_advice():
    result = assess(good_stroke(straight(0.01)), specification(), instruments())
    assert (result.state, result.advice.half_turns) == (State.OUTSIDE_LOW, 2)


def test_records_of_the_model_change_the_advice():
    shallow = [recorded(2, 0.5) for _ in range(5)]
    result = assess(good_stroke(straight(0.01)), specification(), instruments(), adjustments=shallow)
    assert result.advice.half_turns == 4
