"""Adding up a budget."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.measurement.budget import budgets, combine

CONTRIBUTIONS = st.lists(
    st.tuples(st.floats(0.0, 1.0), st.sampled_from([1.0, 2.0, 8.0, 50.0, math.inf])), min_size=1, max_size=14
)


def test_independent_contributions_add_in_squares():
    assert combine([3.0, 4.0], [math.inf, math.inf], 0.95).standard_uncertainty == 5.0


def test_the_expanded_uncertainty_is_k_times_the_standard_one():
    made = combine([0.03, 0.04], [math.inf, math.inf], 0.95)
    assert made.coverage_factor == pytest.approx(1.959964, abs=1e-6)
    assert made.expanded_uncertainty == pytest.approx(1.959964 * 0.05, abs=1e-7)
    assert made.effective_dof == math.inf


def test_a_single_line_keeps_its_own_degrees_of_freedom():
    assert combine([0.2], [7.0], 0.95).effective_dof == pytest.approx(7.0)


def test_two_equal_lines_have_the_sum_of_their_degrees_of_freedom():
    assert combine([0.2, 0.2], [7.0, 7.0], 0.95).effective_dof == pytest.approx(14.0)


def test_a_budget_of_nothing_is_exactly_known():
    made = combine([0.0, 0.0], [3.0, math.inf], 0.95)
    assert (made.standard_uncertainty, made.effective_dof) == (0.0, math.inf)


def test_lists_of_different_length_are_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="zip"):
        combine([1.0, 2.0], [3.0], 0.95)


@given(CONTRIBUTIONS)
def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum(lines):
    made = combine([u for u, _ in lines], [dof for _, dof in lines], 0.95)
    if made.standard_uncertainty > 1e-6:
        used = [dof for u, dof in lines if u > 0.0]
        assert min(used) * (1.0 - 1e-9) <= made.effective_dof <= sum(used) * (1.0 + 1e-9)


@given(CONTRIBUTIONS, st.integers(0, 13), st.floats(0.0, 1.0))
def test_more_of_any_line_is_never_less_in_total(lines, which, more):
    u, dofs = [u for u, _ in lines], [dof for _, dof in lines]
    larger = list(u)
    larger[which % len(u)] += more
    assert combine(larger, dofs, 0.95).standard_uncertainty >= combine(u, dofs, 0.95).standard_uncertainty


@given(st.lists(CONTRIBUTIONS, min_size=1, max_size=6))
def test_many_budgets_in_one_call_are_those_made_one_by_one(tables):
    height = max(len(lines) for lines in tables)
    padded = [lines + [(0.0, math.inf)] * (height - len(lines)) for lines in tables]
    u, dof = (np.array([[line[k] for line in lines] for lines in padded]).T for k in (0, 1))
    many = budgets(u, np.ones_like(u), dof, 0.95)
    for i, lines in enumerate(tables):
        one = combine([u for u, _ in lines], [dof for _, dof in lines], 0.95)
        assert many.standard_uncertainty[i] == pytest.approx(one.standard_uncertainty, rel=1e-12, abs=1e-300)
        if one.standard_uncertainty > 1e-6:
            assert many.effective_dof[i] == pytest.approx(one.effective_dof, rel=1e-9)
            assert many.expanded_uncertainty[i] == pytest.approx(one.expanded_uncertainty, rel=1e-3)


def test_sensitivities_of_either_sign_count_alike():
    u, c, dof = np.full((2, 1), 0.1), np.array([[-2.0], [1.0]]), np.full((2, 1), np.inf)
    assert budgets(u, c, dof, 0.95).standard_uncertainty[0] == pytest.approx(0.1 * math.sqrt(5.0))
