"""The budget table shows every line and how the lines add up."""

import math

import pytest
from django.template import engines

from checks.components import budget_table
from checks.components.budget_table import significant
from checks.display import chance_text, decimals_for, measured_text, stimulus_text
from checks.measurement.result import Advice, Assessment, BudgetLine, CurveFeatures
from checks.measurement.specification import State


def line(symbol, contribution, dof=math.inf):
    """A line whose input is a length."""
    return BudgetLine(
        symbol=symbol,
        source="reading",
        value=1.5,
        unit="mm",
        standard_uncertainty=contribution,
        distribution="rectangular",
        sensitivity=1.0,
        contribution_mm=contribution,
        dof=dof,
    )


def judged(*lines, u, expanded):
    """An assessment with these lines."""
    return Assessment(
        state=State.INSIDE,
        travel_mm=1.5,
        standard_uncertainty_mm=u,
        coverage_factor=2.0,
        effective_dof=60.4,
        expanded_uncertainty_mm=expanded,
        interval_mm=(1.4, 1.6),
        p_inside=0.99871,
        p_below=0.00042,
        p_above=0.00087,
        method="first_order",
        curvature=0.1,
        slope_source="curve",
        budget=lines,
        voids=(),
        features=CurveFeatures(),
        acceptance=None,
        advice=Advice(half_turns=None),
    )


def test_shares_of_the_variance_follow_the_contributions():
    """3, 4 and 5: contributions of 0.003 and 0.004 combine to 0.005 and share 36 % and 64 % of the variance."""
    table = budget_table(judged(line("a", 0.003), line("b", 0.004, dof=9), u=0.005, expanded=0.01))
    assert [row.share for row in table.rows] == ["36 %", "64 %"]
    assert [row.dof for row in table.rows] == ["∞", "9"]
    assert (table.combined, table.expanded, table.coverage_factor, table.dof) == ("0.00500", "0.010", "2.00", "60")


def test_the_page_shows_every_number_of_the_budget():
    table = budget_table(judged(line("δ_dial", 0.003), line("r", 0.004), u=0.005, expanded=0.01))
    page = engines["django"].from_string("{% load parts %}{% budget_table table %}").render({"table": table})
    for shown in (
        "δ<sub>dial</sub>",
        "0.00300",
        "rectangular",
        "0.00500",
        "0.010",
        "2.00",
        "0.9987",
        "0.0004",
        "0.0009",
        "JCGM 100",
    ):
        assert shown in page


def test_a_stroke_without_travel_has_no_budget_and_the_page_says_so():
    empty = judged(u=None, expanded=None)
    assert budget_table(empty) is None
    page = engines["django"].from_string("{% load parts %}{% budget_table table %}").render({"table": None})
    assert "no uncertainty budget" in page


@pytest.mark.parametrize(
    ("expanded", "places"), [(0.034, 3), (0.34, 2), (3.4, 1), (34.0, 0), (0.0996, 2), (0.00996, 3), (0.0, 3)]
)
def test_an_uncertainty_is_given_to_two_significant_digits(expanded, places):
    """JCGM 100, 7.2.6: at most two significant digits usually suffice."""
    assert decimals_for(expanded) == places


def test_a_reading_is_rounded_to_its_uncertainty():
    assert measured_text(1.5113, 0.0337, "mm") == "1.511 ± 0.034 mm"
    assert measured_text(1.5113, 0.0337, "in") == "0.0595 ± 0.0013 in"
    assert measured_text(-0.012, 0.03, "mm") == "−0.012 ± 0.030 mm"


def test_a_probability_never_rounds_to_certainty():
    assert [chance_text(p) for p in (0.0, 0.0049, 0.5, 0.9949, 0.9951, 1.0)] == [
        "under 1 %",
        "under 1 %",
        "50 %",
        "99 %",
        "over 99 %",
        "over 99 %",
    ]


def test_a_setting_is_shown_in_the_viewers_unit():
    """NIST SP 811, appendix B.8: 1 psi = 6.894757 kPa."""
    assert stimulus_text(213.7374, "psi") == "31.00 psi"
    assert stimulus_text(40.0, "%") == "40.0 %"


@pytest.mark.parametrize(
    ("value", "text"), [(0.0012345, "0.00123"), (1234.5, "1234"), (-0.5, "−0.500"), (0.0, "0"), (math.inf, "∞")]
)
def test_numbers_keep_three_significant_digits(value, text):
    assert significant(value) == text
