"""The pages of models: the fleet's estimates, units of own depots only, batches set apart, what was left out."""

import plotly.graph_objects as go
import pytest
from django.db import connection
from django.http import Http404
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import DriftFit, Standing
from checks.services.drift import refit
from reports.charts.model import LINES_BESIDE_SPREAD, LINES_MOST, UnitLine, Units, units_figure
from reports.selectors.model_drift import model_page
from reports.selectors.models_drift import models_page
from reports.sentences.drift import model_sentence, models_sentence
from tests.bay import make_bay, person
from tests.factories import DriftFitFactory, FitmentFactory, ForecastFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
APART = {
    "label": "2025-4-reconditioned", "units": 4, "mean_mm": 1.9, "se_mm": 0.1, "departure_mm": 0.4, "z": 4.0,
}  # fmt: skip


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def fit(bay):
    return DriftFitFactory(turbocharger_model=bay.turbocharger.model)


def unit_at(depot, fit, **changes):
    unit = TurbochargerFactory(depot=depot, model=fit.turbocharger_model)
    FitmentFactory(turbocharger=unit)
    ForecastFactory(turbocharger=unit, fit=fit, **changes)
    return unit


def test_units_are_those_of_own_depots_and_estimates_the_fleets(bay, fit, today):
    own, other = unit_at(bay.depot, fit), unit_at(make_bay().depot, fit, p_above_now=0.9)
    page = model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today)
    assert [row.name for row in page.at_risk] == [own.serial]
    assert (page.units, page.fit.readings) == (1, 300)
    assert other.serial not in str(page.figure)
    assert models_page(user=bay.viewer).rows[0].units == 2  # the bay's own unit and the one added


def test_the_drift_is_told_with_its_uncertainty(bay, fit, today):
    page = model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today)
    assert page.drift == "+0.200 ± 0.020 mm"
    assert model_sentence(page).startswith("Rising: +0.200 ± 0.020 mm per 100,000 km on average, from 300 readings.")
    named = {row.name: row for row in page.estimates}
    assert named["Mean travel as set by the plant"].value == "1.500 ± 0.040 mm"
    assert "5.0 readings a unit" in named["Spread of the plant's settings"].rests_on


def test_a_batch_set_apart_is_named_in_a_sentence_on_both_pages(bay, fit, today):
    fit.diagnostics["batches"] = [APART]
    fit.save()
    words = (
        "Four units (reconditioned, received Oct to Dec 2025) were set high: +0.40 ± 0.20 mm from the model's others."
    )
    assert words in model_sentence(model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today))
    assert words in models_sentence(models_page(user=bay.viewer))


def test_the_pages_are_drawn_and_figures_are_ones_that_the_plotting_library_accepts(bay, fit, today, signed_in):
    fit.diagnostics["batches"] = [APART]
    fit.left_out = [{"check": 1, "moment": "as_found", "reason": "The stroke was void."}]
    fit.save()
    for chance in (0.1, 0.2, 0.3):
        unit_at(bay.depot, fit, p_above_now=chance, jumped=chance > 0.2)
    page = model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today)
    for figure in (page.figure, page.slopes, page.batches):
        go.Figure(figure["data"])
    client = signed_in(bay.viewer)
    shown = client.get(reverse("reports:model", args=[fit.turbocharger_model_id])).content.decode()
    assert "Set apart: reconditioned, received Oct to Dec 2025." in shown
    assert "The stroke was void." in shown
    assert '<h2 id="jumps">Jumped</h2>' in shown
    assert bay.turbocharger.model.name in client.get(reverse("reports:models")).content.decode()


def test_a_model_without_a_fit_says_so(bay, today, signed_in):
    page = model_page(user=bay.viewer, pk=bay.turbocharger.model_id, today=today)
    assert model_sentence(page) == "No reading of this model can be placed yet, so nothing is known of its drift."
    assert signed_in(bay.viewer).get(reverse("reports:model", args=[bay.turbocharger.model_id])).status_code == 200
    assert models_sentence(models_page(user=bay.viewer)) == "No model has a reading to tell its drift by yet."


def test_an_unknown_model_is_not_found(bay, today):
    with pytest.raises(Http404):
        model_page(user=bay.viewer, pk=10_000, today=today)


def test_leaving_and_jumped_units_are_counted_at_own_depots(bay, fit):
    for depot in (bay.depot, make_bay().depot):
        unit = unit_at(depot, fit, jumped=True)
        Standing.objects.create(turbocharger=unit, state="inside", leaving=True)
    (row,) = [row for row in models_page(user=bay.viewer).rows if row.fit]
    assert (row.leaving, row.jumped) == (1, 1)


def test_a_fit_that_failed_says_so(bay, fit, today):
    fit.diagnostics |= {"converged": False, "condition": None, "remarks": ["Too small."]}
    fit.route = DriftFit.Route.POOLED
    fit.save()
    remarks = " ".join(model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today).remarks)
    assert "did not converge" in remarks
    assert "can hardly be told apart" in remarks
    assert "borrows from the fleet's other models" in remarks
    assert "Too small." in remarks


@pytest.mark.parametrize("shown", ["model", "models"])
def test_the_cost_stays_with_more_units_and_models(bay, fit, today, shown):
    def cost():
        with CaptureQueriesContext(connection) as captured:
            if shown == "models":
                models_page(user=bay.viewer)
            else:
                model_page(user=bay.viewer, pk=fit.turbocharger_model_id, today=today)
        return len(captured)

    unit_at(bay.depot, fit)
    few = cost()
    for _ in range(5):
        unit_at(bay.depot, fit)
        DriftFitFactory()
    assert cost() == few <= 12


def lines(count):
    return [
        UnitLine(name=f"{n}", run=100.0 + n, began=1.5, now=1.5 + n / count, chance=n / count) for n in range(count)
    ]


@pytest.mark.parametrize("count", [0, 1, 5, LINES_MOST + 1, 5000])
def test_the_chart_is_readable_at_any_number_of_units(count):
    units = Units(lines=lines(count), mean=(1.5, 0.001), window=(1.0, 1.5, 2.0), length_unit="mm", usage_unit="km")
    figure = units_figure(units)
    names = [trace["name"] for trace in figure["data"]]
    drawn = (
        next(len(trace["x"]) // 3 for trace in figure["data"] if trace["mode"] == "lines" and None in trace["x"])
        if count
        else 0
    )
    assert ("95 % of units" in names) == (count > LINES_MOST)
    assert drawn == (LINES_BESIDE_SPREAD if count > LINES_MOST else count)
    go.Figure(figure["data"])


def test_the_spread_holds_the_shares_it_names():
    """Against numpy's percentiles of the same lines at the same place."""
    import numpy as np

    made = [
        UnitLine(name="", run=1000.0, began=1.5, now=1.5 + step, chance=0.0)
        for step in np.random.default_rng(1).normal(0, 0.1, 2000)
    ]
    units = Units(lines=made, mean=(1.5, 0.0), window=None, length_unit="mm", usage_unit="km")
    wide = next(trace for trace in units_figure(units)["data"] if trace["name"] == "95 % of units")
    low, high = np.percentile([line.now for line in made], [2.5, 97.5])
    middle = len(wide["x"]) // 2
    assert (wide["y"][middle - 1], wide["y"][middle]) == pytest.approx((low, high))


def test_from_recorded_checks_to_the_page(bay, checked, today):
    """The whole way: checks, refit, page."""
    bay.turbocharger.fitments.update(fitted_odometer_km=60_000)
    for days_ago, travel in ((300, "57"), (200, "60"), (100, "62"), (20, "64")):
        checked(bay, days_ago=days_ago, travel=travel)
    refit()
    page = model_page(user=bay.viewer, pk=bay.turbocharger.model_id, today=today)
    assert (page.fit.readings, page.units) == (4, 1)
    assert [row.batch.units for row in page.batch_rows] == [1]
    assert [one.serial for one in page.batch_rows[0].units] == [bay.turbocharger.serial]
    stranger = person(make_bay().depot, "viewer")
    seen = model_page(user=stranger, pk=bay.turbocharger.model_id, today=today)
    assert (seen.units, seen.batch_rows[0].units, seen.at_risk) == (0, [], [])
