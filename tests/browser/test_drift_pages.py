"""Pages of drift in a real browser: charts drawn, console empty, axe clean, nothing wider than the screen."""

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import Policy, Standing
from tests.bay import make_bay
from tests.charted import look_on_every_screen, open_folds, settled
from tests.factories import DriftFitFactory, FitmentFactory, ForecastFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay():
    """A model with a fit, a batch set apart, ten units in all states of foresight."""
    made = make_bay()
    fit = DriftFitFactory(turbocharger_model=made.turbocharger.model)
    fit.diagnostics["batches"] = [
        {"label": "2021-1-new", "units": 9, "mean_mm": 1.5, "se_mm": 0.04, "departure_mm": -0.3, "z": -3.4},
        {"label": "2021-1-reconditioned", "units": 4, "mean_mm": 1.9, "se_mm": 0.1, "departure_mm": 0.4, "z": 4.0},
    ]
    fit.left_out = [{"check": 1, "moment": "as_found", "reason": "The stroke was void."}]
    fit.save()
    units = [made.turbocharger] + [
        TurbochargerFactory(depot=made.depot, model=made.turbocharger.model) for _ in range(9)
    ]
    for n, unit in enumerate(units):
        if n:
            FitmentFactory(turbocharger=unit)
        chance = n / 20
        ForecastFactory(turbocharger=unit, fit=fit, p_above_now=chance, drift_mm=0.1 + n / 50, jumped=n == 3)
        Standing.objects.create(
            turbocharger=unit, state="inside", p_outside_now=chance, leaving=n > 7, due_on=timezone.localdate()
        )
    Policy.objects.create(pk=1)
    return made


def places(bay):
    return {
        "board": reverse("reports:board") + "?sort=chance",
        "unit": reverse("reports:unit", args=[bay.turbocharger.pk]),
        "models": reverse("reports:models"),
        "model": reverse("reports:model", args=[bay.turbocharger.model_id]),
        "intervals": reverse("reports:intervals"),
        "policy": reverse("checks:policy"),
    }


@pytest.mark.parametrize("name", ["board", "unit", "models", "model", "intervals", "policy"])
def test_pages_of_drift_are_axe_clean_with_an_empty_console(bay, page, enter, console, shoot, name):
    enter(bay.manager, places(bay)[name])
    open_folds(page)
    if name == "policy":
        page.get_by_role("button", name="Show what it would do").click()
        page.wait_for_selector("#effect table")
    settled(page)
    look_on_every_screen(page, shoot, f"drift-{name}")


def test_a_dot_of_the_chart_opens_its_unit(bay, page, enter, console):
    enter(bay.manager, places(bay)["model"])
    settled(page)
    page.evaluate(
        """() => {
          const chart = document.querySelector("[data-figure=figure-units]");
          const dots = chart.data.find((trace) => trace.customdata);
          chart.emit("plotly_click", { points: [{ customdata: dots.customdata[0] }] });
        }"""
    )
    page.wait_for_url("**/units/*/")
    assert page.get_by_role("heading", level=1).inner_text()
