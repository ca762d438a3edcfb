"""Checks are placed within limits and capacity, at least added risk, or the shortage is explained."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from checks.rules.levelling import EARLY_DAY, UNPLACED, Shortage, added_days_outside, level, shortages


def test_checks_that_fit_are_made_on_their_due_day():
    plan = level(earliest=[0, 0, 0], due=[0, 1, 3], hard=[5, 5, 5], p_outside=[0.1, 0.1, 0.1], capacity=[1] * 6)
    assert plan.tolist() == [0, 1, 3]
    assert shortages(np.zeros(3, int), np.full(3, 5), np.ones(6, int), plan) == ()


def test_the_riskier_of_two_goes_first():
    plan = level(earliest=[0, 0], due=[0, 0], hard=[9, 9], p_outside=[0.02, 0.5], capacity=[1, 1])
    assert plan.tolist() == [1, 0]


def test_each_day_of_waiting_adds_the_chance_of_that_day():
    chance = np.array([[0.1, 0.2, 0.3], [0.1, 0.2, 0.3], [0.1, 0.2, 0.3]])
    added = added_days_outside(np.array([1, 0, -3]), chance)
    assert added == pytest.approx(np.array([[0.0, 0.0, 0.3], [0.0, 0.2, 0.5], [0.3, 0.5, 0.8]]))


def test_no_check_is_placed_past_its_hard_limit_or_on_a_day_without_work():
    plan = level(earliest=[0, 0, 0], due=[2, 2, 2], hard=[2, 4, 4], p_outside=[0.1] * 3, capacity=[0, 0, 1, 0, 1])
    assert plan[0] == 2
    assert sorted(plan.tolist()) == [-1, 2, 4]


def test_what_cannot_be_done_is_left_out_and_explained():
    plan = level(earliest=[0] * 4, due=[1] * 4, hard=[1] * 4, p_outside=[0.1, 0.2, 0.3, 0.4], capacity=[1, 1, 5])
    assert (plan < 0).sum() == 2
    found = shortages(np.zeros(4, int), np.ones(4, int), np.array([1, 1, 5]), plan)
    assert found == (Shortage(first=0, last=1, wanted=4, room=2),)


def test_a_day_chosen_by_hand_is_kept_and_uses_its_place():
    plan = level(earliest=[0, 0], due=[0, 0], hard=[5, 5], p_outside=[0.1, 0.1], capacity=[1, 1, 1], fixed=[-1, 0])
    assert plan.tolist() == [1, 0]


def test_impossible_input_is_refused():
    with pytest.raises(ValueError, match="chances"):
        level(earliest=[0], due=[0], hard=[1], p_outside=[1.5], capacity=[1])
    with pytest.raises(ValueError, match="one length"):
        level(earliest=[0, 1], due=[0], hard=[1], p_outside=[0.5], capacity=[1])


def test_nothing_to_place_is_a_plan():
    assert len(level(earliest=[], due=[], hard=[], p_outside=[], capacity=[1, 1])) == 0


jobs = st.lists(
    st.tuples(st.integers(0, 3), st.integers(-3, 8), st.integers(0, 9), st.floats(0, 1)), min_size=1, max_size=9
)


@settings(max_examples=60, deadline=None)
@given(jobs, st.lists(st.integers(0, 2), min_size=1, max_size=7))
def test_the_plan_is_as_good_as_an_assignment_of_single_places(rows, capacity):
    """Peer: the assignment solver of scipy on one column per place and one per check left out."""
    earliest, due, hard, chance = (np.array(c) for c in zip(*rows, strict=True))
    plan = level(earliest=earliest, due=due, hard=hard, p_outside=chance, capacity=capacity)
    days = np.repeat(np.arange(len(capacity)), capacity)
    waited = np.maximum(days - due[:, None], 0) * chance[:, None]
    cost = waited + EARLY_DAY * np.maximum(due[:, None] - days, 0)
    cost = np.where((days >= earliest[:, None]) & (days <= hard[:, None]), cost, 10 * UNPLACED)
    full = np.concatenate([cost, np.full((len(rows), len(rows)), UNPLACED)], axis=1)
    best = full[linear_sum_assignment(full)].sum()
    placed = plan >= 0
    early = EARLY_DAY * np.maximum(due - plan, 0)[placed].sum()
    added = added_days_outside(due, np.broadcast_to(chance[:, None], (len(rows), len(capacity))))
    assert added[placed, plan[placed]].sum() + early + UNPLACED * (~placed).sum() == pytest.approx(best, abs=1e-6)
    assert (np.bincount(plan[placed], minlength=len(capacity)) <= np.array(capacity)).all()
    assert bool(shortages(earliest, hard, np.array(capacity), plan)) == bool((~placed).any())
