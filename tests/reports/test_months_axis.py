"""The axis of months of a truck's fuel."""

from datetime import date

import plotly.graph_objects as go

from reports.charts.months import months_axis


def test_two_months_have_each_name_once():
    """By itself the plotting library sets ticks within a month, each with the name of the month."""
    few = months_axis(date(2026, 8, 1), date(2026, 11, 30))
    assert few["dtick"] == "M1"
    assert go.Figure(layout={"xaxis": few}).layout.xaxis.dtick == "M1"


def test_two_years_leave_the_step_to_the_plotting_library():
    assert "dtick" not in months_axis(date(2024, 8, 1), date(2026, 8, 1))
