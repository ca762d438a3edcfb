"""A unit's page looks ahead: the fan, the mark of the next look, jumps, and a sentence that stays honest."""

from datetime import timedelta

import pytest
from django.urls import reverse

from checks.models import Forecast, Standing
from reports.selectors.unit import unit_page
from reports.sentences.unit import unit_sentence
from tests.bay import make_bay
from tests.factories import DriftFitFactory, ForecastFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay(checked):
    made = make_bay()
    made.turbocharger.fitments.update(fitted_odometer_km=150_000)
    for days_ago in (120, 60):
        checked(made, days_ago=days_ago)
    return made


def forecast(bay, **changes):
    """Give the bay's unit a forecast of an epoch that began at its fitting, and a plan by risk."""
    Forecast.objects.all().delete()
    return ForecastFactory(
        turbocharger=bay.turbocharger,
        fit=DriftFitFactory(turbocharger_model=bay.turbocharger.model, is_current=False),
        **{"epoch_began_usage": 150_000.0} | changes,
    )


def planned(today, days=100, per_day=200.0):
    on = (today + timedelta(days=days)).isoformat()
    rule = {"rule": "risk", "on": on, "by_date": None, "by_usage": on, "odometer_km": None, "sentence": "A chance."}
    Standing.objects.update(
        due_on=today + timedelta(days=days),
        binding_rule="risk",
        rules=[rule | {"inputs": {"per_day": per_day, "unit": "km"}}],
    )


def traces(page):
    return {trace.get("name", ""): trace for trace in page.outlook.drift_figure["data"]}


def test_the_fan_lies_along_the_distance_run_since_fitted(bay, today):
    row = forecast(bay)
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    mean = traces(page)["forecast, mean"]
    assert mean["x"] == pytest.approx([usage for usage, *_ in row.path])
    assert mean["y"] == pytest.approx([travel for _, travel, *_ in row.path])
    assert {"forecast, 95 %", "forecast, half"} <= set(traces(page))


def test_the_next_look_is_marked_where_its_day_lies(bay, today):
    forecast(bay)
    planned(today, days=100, per_day=200.0)
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    marks = [shape for shape in page.outlook.drift_figure["layout"]["shapes"] if shape["line"].get("dash") == "dash"]
    assert marks[-1]["x0"] == pytest.approx(50_000 + 100 * 200)
    assert "see again" in [trace.get("name") for trace in page.outlook.drift_figure["data"]]


def test_without_an_odometer_the_fan_lies_along_days(bay, today):
    bay.turbocharger.fitments.update(fitted_odometer_km=None)
    forecast(bay, epoch_began_usage=None)
    planned(today, per_day=500.0)
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    mean = traces(page)["forecast, mean"]
    assert page.outlook.drift_figure["layout"]["xaxis"]["type"] == "date"
    assert (mean["x"][1] - mean["x"][0]) == timedelta(days=20)
    assert mean["x"][0].date() == today


def test_engine_hours_lie_along_days_too(bay, today):
    row = forecast(bay)
    row.fit.basis = "hours"
    row.fit.save()
    planned(today, per_day=8.0)
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    assert page.outlook.drift_figure["layout"]["xaxis"]["type"] == "date"
    assert page.outlook.per == "2,000 h"


def test_a_reading_that_jumped_is_marked_with_its_word(bay, today, signed_in):
    check = bay.turbocharger.checks.latest("made_at")
    forecast(bay, jumped=True, innovations=[[check.pk, "as_found", -5.2, True, -1.6, 1.26]])
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    assert len(traces(page)["jumped"]["x"]) == 1
    assert page.outlook.signs_figure["data"][-1]["y"] == [-5.2]
    shown = signed_in(bay.viewer).get(reverse("reports:unit", args=[bay.turbocharger.pk])).content.decode()
    assert shown.count('<span class="flag">jumped</span>') == 1


def test_the_sentence_says_where_it_goes_and_when_to_see_it(bay, today):
    forecast(bay)
    planned(today)
    said = unit_sentence(unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today))
    assert "Rising; a 5 % chance of being outside is reached about" in said
    assert said.endswith("See it by then.")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"readings": 0}, "It has no reading of its own, so this is what its model forecasts; a 5 %"),
        ({"readings": 1}, "It has one reading, so its drift is its model's; a 5 %"),
        ({"drift_mm": 0.05}, "Steady as far as can be told; a 5 %"),
        ({"drift_mm": -0.09, "drift_u_mm": 0.01}, "Falling slowly; a 5 %"),
        ({"due_usage": None}, "a 5 % chance of being outside is not within sight."),
        ({"p_above_now": 0.3}, "its chance of being outside is 30 % now."),
    ],
)
def test_the_sentence_is_honest_about_what_it_rests_on(bay, today, changes, words):
    forecast(bay, **changes)
    planned(today)
    assert words in unit_sentence(unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today))


def test_without_a_forecast_the_page_is_as_it_was(bay, today):
    Forecast.objects.all().delete()
    page = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    assert (page.outlook.forecast, page.outlook.fanned, page.outlook.chance) == (None, False, "")
    assert page.outlook.drift_figure is not None


def test_every_rule_stands_folded_with_its_day(bay, today, signed_in):
    forecast(bay)
    planned(today)
    shown = signed_in(bay.viewer).get(reverse("reports:unit", args=[bay.turbocharger.pk])).content.decode()
    assert "When to see it again: every rule that asks" in shown
