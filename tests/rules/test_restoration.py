"""Which months around a restoration count, and what is said when too few do."""

import numpy as np
import pytest

from checks.rules.restoration import AFTER, BEFORE, LEFT_OUT_BEFORE, change_around, tell

TRUCKS, MONTHS, MONTH = 12, 24, 12


@pytest.fixture
def fleet():
    rng = np.random.default_rng(8)
    value, weight = rng.normal(3.5, 0.01, (TRUCKS, MONTHS)), rng.uniform(6000, 14000, (TRUCKS, MONTHS))
    outside = np.zeros((TRUCKS, MONTHS), bool)
    outside[0, :MONTH] = True
    value[0, :MONTH] += 0.04
    return value, weight, outside


def test_the_months_outside_before_and_those_after_are_compared(fleet):
    value, weight, outside = fleet
    told = tell(value, weight, outside, {0: [MONTH]}, truck=0, month=MONTH)
    assert (told.before, told.after) == (BEFORE, AFTER)
    assert told.event == change_around(value, weight, {0: [MONTH]}, truck=0, month=MONTH)
    low, high = told.event.limits()
    assert low < -0.04 < high
    assert not told.reason


def test_months_in_which_it_stood_inside_are_not_counted_as_before(fleet):
    value, weight, outside = fleet
    outside[0, : MONTH - LEFT_OUT_BEFORE - 3] = False
    assert tell(value, weight, outside, {0: [MONTH]}, truck=0, month=MONTH).before == 3


def test_changes_of_the_same_truck_bound_both_sides(fleet):
    told = tell(*fleet, {0: [5, MONTH, 16]}, truck=0, month=MONTH)
    assert (told.before, told.after) == (MONTH - LEFT_OUT_BEFORE - 6, 3)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [([MONTH - 3, MONTH], "stood outside for fewer than 2 months"), ([MONTH, MONTH + 2], "Fewer than 2 months lie")],
)
def test_too_few_months_are_no_event_and_say_so(fleet, changed, reason):
    told = tell(*fleet, {0: changed}, truck=0, month=MONTH)
    assert told.event is None
    assert reason in told.reason


def test_without_trucks_to_compare_with_nothing_is_told(fleet):
    changed = {truck: [MONTH] for truck in range(TRUCKS - 2)}
    told = tell(*fleet, changed, truck=0, month=MONTH)
    assert told.event is None
    assert "fewer than three trucks without a change" in told.reason


def test_windows_cut_short_by_other_changes_keep_their_coverage():
    """95 % limits hold the truth in 93 to 97 % of runs whatever months are left to an event."""
    rng, inside, runs = np.random.default_rng(10), 0, 1500
    for _ in range(runs):
        wander = np.cumsum(rng.normal(0, 0.002, (40, MONTHS)), axis=1)
        value = rng.normal(3.5, 0.03, (40, 1)) + wander + rng.normal(0, 0.01, (40, MONTHS))
        weight, outside = rng.uniform(6000, 14000, (40, MONTHS)), np.zeros((40, MONTHS), bool)
        begun, end = int(rng.integers(4, 8)), int(rng.integers(15, 19))
        outside[0, begun:MONTH] = True
        value[0, MONTH + 1 :] -= 0.02
        told = tell(value, weight, outside, {0: [MONTH, end]}, truck=0, month=MONTH)
        low, high = told.event.limits()
        inside += low < -0.02 < high
    assert 0.93 < inside / runs < 0.97
