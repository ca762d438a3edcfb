"""Verdicts, acceptance limits and risks."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.measurement.conformity import acceptance_limits, judge, probabilities, risks
from checks.measurement.errors import MeasurementError
from checks.measurement.specification import State

WINDOW = (1.0, 2.0)


@pytest.mark.parametrize(
    ("travel", "state"),
    [
        (1.5, State.INSIDE),
        (1.0, State.UNDECIDED),
        (1.1, State.INSIDE),
        (1.08, State.UNDECIDED),
        (0.9, State.OUTSIDE_LOW),
        (2.1, State.OUTSIDE_HIGH),
        (2.05, State.UNDECIDED),
    ],
)
def test_states_across_a_window_with_u_of_0_05(travel, state):
    assert judge(*probabilities(travel, 0.05, *WINDOW), 0.95) is state


def test_a_state_is_given_at_the_level_itself():
    assert judge(0.95, 0.05, 0.0, 0.95) is State.INSIDE
    assert judge(0.05, 0.95, 0.0, 0.95) is State.OUTSIDE_LOW
    assert judge(0.05, 0.0, 0.95, 0.95) is State.OUTSIDE_HIGH


def test_doubt_far_wider_than_the_window_decides_nothing():
    """P(inside) is small, but nobody could say on which side the travel lies."""
    shares = probabilities(1.5, 30.0, *WINDOW)
    assert shares[0] < 0.05
    assert judge(*shares, 0.95) is State.UNDECIDED


@given(st.floats(-5.0, 8.0), st.floats(0.0, 3.0))
def test_the_three_probabilities_add_up_to_one(travel, u):
    inside, below, above = probabilities(travel, u, *WINDOW)
    assert inside + below + above == pytest.approx(1.0, abs=1e-12)
    assert min(inside, below, above) >= 0.0


def test_a_perfect_instrument_knows():
    assert probabilities(1.5, 0.0, *WINDOW) == (1.0, 0.0, 0.0)
    assert probabilities(0.9, 0.0, *WINDOW) == (0.0, 1.0, 0.0)
    assert acceptance_limits(0.0, *WINDOW, 0.95) == WINDOW


@given(st.floats(1e-4, 0.25), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_at_the_acceptance_limits_the_probability_is_the_level(u, level):
    limits = acceptance_limits(u, *WINDOW, level)
    if limits is None:
        assert probabilities(1.5, u, *WINDOW)[0] < level
        return
    for limit in limits:
        assert probabilities(limit, u, *WINDOW)[0] == pytest.approx(level, abs=1e-7)


def test_both_limits_of_a_narrow_window_count():
    """With u a quarter of the window one side alone would allow 1.411; both together allow less."""
    low, high = acceptance_limits(0.25, *WINDOW, 0.95)
    assert low > 1.0 + 1.645 * 0.25
    assert low + high == pytest.approx(3.0)


def test_a_window_too_narrow_for_the_instruments_has_no_limits():
    """The best reading is the middle: P = 2 Φ(0.5/u) - 1 reaches 0.95 at u = 0.5/1.959964."""
    assert acceptance_limits(0.5 / 1.9599, *WINDOW, 0.95) is None
    assert acceptance_limits(0.5 / 1.9600, *WINDOW, 0.95) is not None
    assert acceptance_limits(0.5 / 1.95997, *WINDOW, 0.95) == pytest.approx((1.5, 1.5), abs=0.002)


@given(st.floats(0.001, 0.3), st.floats(1.0, 1.5))
def test_worse_instruments_never_accept_more(u, factor):
    better, worse = acceptance_limits(u, *WINDOW, 0.95), acceptance_limits(u * factor, *WINDOW, 0.95)
    if worse is not None:
        assert worse[0] >= better[0] - 1e-9
        assert worse[1] <= better[1] + 1e-9


def found(**changes):
    population = {"population_mean": 1.5, "population_sd": 0.2, "u": 0.05}
    limits = {"lower": 1.0, "upper": 2.0, "accept_low": 1.08, "accept_high": 1.92}
    return risks(**{**population, **limits, **changes})


def test_a_guard_band_trades_the_consumers_risk_for_the_producers():
    guarded, plain = found(), found(accept_low=1.0, accept_high=2.0)
    assert guarded.consumer < plain.consumer
    assert guarded.producer > plain.producer


def test_what_is_accepted_is_what_is_inside_less_one_risk_plus_the_other():
    made = found()
    assert made.accepted == pytest.approx(made.inside - made.producer + made.consumer, abs=1e-12)


def test_a_population_far_outside_is_neither_inside_nor_accepted():
    made = found(population_mean=9.0)
    assert (made.inside, made.accepted, made.consumer, made.producer) == pytest.approx((0.0, 0.0, 0.0, 0.0), abs=1e-12)


def test_nearly_perfect_readings_leave_hardly_any_risk():
    made = found(u=1e-3, accept_low=1.0, accept_high=2.0)
    assert made.consumer < 1e-3
    assert made.producer < 1e-3


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"population_sd": 0.0}, "population_sd"),
        ({"u": -1.0}, "u"),
        ({"u": math.nan}, "u"),
        ({"lower": 3.0}, "upper"),
        ({"accept_low": 1.95}, "accept_high"),
        ({"population_mean": math.inf}, "population_mean"),
    ],
)
def test_impossible_populations_are_refused_by_field(changes, field):
    with pytest.raises(MeasurementError) as caught:
        found(**changes)
    assert caught.value.field == field
