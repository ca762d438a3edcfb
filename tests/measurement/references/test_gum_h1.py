"""GUM (JCGM 100:2008), annex H.1, calibration of an end gauge. Lengths in nm.

Inputs and results verified in a stored public copy (the documentation of GTC, GUM_H1); U99 recomputed, from memory.
"""

import math

import numpy as np
import pytest

from checks.measurement.budget import budgets, combine, coverage_factor

# (standard uncertainty, sensitivity, degrees of freedom)
LINES = {
    "standard": (25.0, 1.0, 18.0),
    "mean of five comparisons": (5.8, 1.0, 24.0),
    "comparator, random": (3.9, 1.0, 5.0),
    "comparator, systematic": (6.7, 1.0, 8.0),
    "expansion of the standard": (1.2e-6, 0.0, math.inf),
    "bed temperature": (0.2, 0.0, math.inf),
    "cyclic temperature": (0.35, 0.0, math.inf),
    "difference of expansions": (1e-6 / math.sqrt(3.0), 50_000_623 * 0.1, 50.0),
    "difference of temperatures": (0.05 / math.sqrt(3.0), -50_000_623 * 11.5e-6, 2.0),
}


def combined(probability=0.99):
    contributions = [abs(c) * u for u, c, _ in LINES.values()]
    return combine(contributions, [dof for _, _, dof in LINES.values()], probability)


def test_each_component():
    components = {name: abs(c) * u for name, (u, c, _) in LINES.items()}
    assert components["difference of expansions"] == pytest.approx(2.9, abs=0.05)
    assert components["difference of temperatures"] == pytest.approx(16.6, abs=0.05)
    assert components["bed temperature"] == 0.0  # expected value of its coefficient is zero: none at first order


def test_combined_standard_uncertainty_is_32_nm():
    assert round(combined().standard_uncertainty) == 32
    assert combined().standard_uncertainty == pytest.approx(31.664, abs=0.002)


def test_effective_degrees_of_freedom_are_16_by_truncation():
    """16.75 rounded to nearest would be 17: the guide truncates (G.4.1, note)."""
    assert combined().effective_dof == pytest.approx(16.75, abs=0.01)
    assert combined().coverage_factor == coverage_factor(16.0, 0.99) != coverage_factor(17.0, 0.99)


def test_coverage_factor_is_2_92_and_expanded_uncertainty_93_nm():
    assert combined().coverage_factor == pytest.approx(2.92078, abs=5e-6)
    assert combined().expanded_uncertainty == pytest.approx(92.48, abs=0.01)
    # The guide multiplies the rounded 32 nm.
    assert round(combined().coverage_factor * 32.0) == 93


def test_the_pooled_comparison_alone():
    """u(d) = 9.7 nm with 25.6 degrees of freedom from the rounded 9.7; 25.45 unrounded."""
    names = ("mean of five comparisons", "comparator, random", "comparator, systematic")
    pooled = combine([LINES[name][0] for name in names], [LINES[name][2] for name in names], 0.95)
    assert pooled.standard_uncertainty == pytest.approx(9.682, abs=0.001)
    assert pooled.effective_dof == pytest.approx(25.45, abs=0.01)


def test_many_end_gauges_in_one_call_give_the_same():
    u, c, dof = (np.repeat(np.array(column)[:, None], 7, axis=1) for column in zip(*LINES.values(), strict=True))
    many, one = budgets(u, c, dof, 0.99), combined()
    for field in ("standard_uncertainty", "effective_dof", "coverage_factor", "expanded_uncertainty"):
        assert getattr(many, field) == pytest.approx([getattr(one, field)] * 7, rel=1e-14)
