"""The charts of the unit page draw what its tables say."""

from datetime import timedelta

import pytest

from reports.selectors.unit import unit_page
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


def test_the_drift_chart_draws_what_the_table_says(checked, today):
    bay = make_bay()
    bay.turbocharger.fitments.update(fitted_odometer_km=100_000)
    for days, travel in ((300, "55"), (200, "60")):
        checked(bay, days_ago=days, travel=travel)
    checked(bay, days_ago=100, travel="95", left="59")
    found = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    marks = {trace["name"]: trace for trace in found.outlook.drift_figure["data"] if trace["mode"] == "markers"}
    assert set(marks) == {"inside, as found", "outside high, as found", "inside, as left"}
    inside = marks["inside, as found"]
    assert inside["x"] == pytest.approx([22_000, 52_000])
    rows = list(reversed(found.checks))[:2]
    assert inside["y"] == pytest.approx([row.judged[0].reading.travel_mm for row in rows])
    assert inside["error_y"]["array"] == pytest.approx([row.judged[0].reading.expanded_mm for row in rows])
    assert inside["marker"]["symbol"].endswith("-open")
    assert not marks["inside, as left"]["marker"]["symbol"].endswith("-open")
    window, nominal, adjusted = found.outlook.drift_figure["layout"]["shapes"]
    assert (window["y0"], nominal["y0"], window["y1"]) == pytest.approx((0.9652, 1.4986, 2.032))
    assert adjusted["x0"] == pytest.approx(82_000)


def test_an_adjustment_breaks_the_line_between_readings(checked, today):
    bay = make_bay()
    checked(bay, days_ago=300, travel="60")
    checked(bay, days_ago=200, travel="95", left="59")
    checked(bay, days_ago=100, travel="60")
    drift = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today).outlook.drift_figure
    lines = {trace.get("name"): trace["x"] for trace in drift["data"] if trace["mode"] == "lines" and trace.get("name")}
    paths = [trace["x"] for trace in drift["data"] if trace["mode"] == "lines" and trace["x"] != [None]]
    assert [len(path) for path in paths] == [2, 2]
    assert lines["rod turned"] == [None], "a word of the legend, which draws nothing"


def test_days_take_the_place_of_distance_where_an_odometer_is_missing(checked, today):
    bay = make_bay()
    checked(bay)
    layout = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today).outlook.drift_figure["layout"]
    assert layout["xaxis"]["type"] == "date"
    first, last = layout["xaxis"]["range"]
    assert last - first == timedelta(days=30), "one reading has a month about it, not its milliseconds"


def test_a_figure_is_one_that_the_plotting_library_accepts(checked, today):
    import plotly.graph_objects as go

    bay = make_bay()
    checked(bay, travel="95", left="59")
    found = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    for figure in (found.outlook.drift_figure, found.curve):
        assert "var(--" in str(figure)
        go.Figure(_plain(figure))


def _plain(value):
    """The figure with a colour in place of each custom property."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    if isinstance(value, str) and value.startswith("var(--"):
        return "serif" if "font" in value else "#123456"
    return value


def test_the_curve_of_any_check_can_be_chosen(checked, today):
    bay = make_bay()
    first, second = checked(bay, travel="50", days_ago=60), checked(bay, travel="60", days_ago=30)
    shown = {
        asked: unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today, curve_check=asked)
        for asked in (None, first.pk, 999_999)
    }
    assert [page.curve_check.pk for page in shown.values()] == [second.pk, first.pk, second.pk]
    setting = next(t for t in shown[first.pk].curve["data"] if t["name"] == "at the setting")
    assert setting["y"] == pytest.approx([50 * 0.0254], abs=0.01)
    assert shown[None].curve["layout"]["shapes"][2]["x0"] == pytest.approx(213.737, abs=0.001)
