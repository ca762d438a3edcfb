"""Fitting, removing and swapping turbochargers."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from fleet.models import Engine, Fitment, MeterReading
from fleet.problems import FleetError
from fleet.services.fitment import fit_turbocharger, remove_turbocharger, swap_turbocharger
from fleet.services.meter import Meter
from tests.factories import (
    DepotFactory,
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    TruckFactory,
    TurbochargerFactory,
)

pytestmark = pytest.mark.django_db
DAY = date(2023, 5, 4)


def refusal(call, **arguments) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    return caught.value.code, caught.value.field


@pytest.fixture
def single(crew):
    truck = TruckFactory(depot=crew.depot, unit_number="114")
    return InstallationFactory(truck=truck).engine


@pytest.fixture
def twin(crew):
    return EngineFactory(depot=crew.depot, layout=Engine.Layout.TWIN)


@pytest.fixture
def stock(crew):
    return TurbochargerFactory(depot=crew.depot)


def test_a_turbocharger_is_fitted_with_its_date_and_meter(crew, single, stock):
    fitment = fit_turbocharger(
        user=crew.technician, turbocharger=stock, engine=single, position="single", fitted_on=DAY,
        meter=Meter(212_000.0, "212000 km", 5120.5),
    )  # fmt: skip
    assert (fitment.fitted_on, fitment.fitted_odometer_km, fitment.removed_on) == (DAY, 212_000.0, None)
    reading = MeterReading.objects.get(truck__unit_number="114")
    assert (reading.odometer_km, reading.odometer_typed, reading.source) == (212_000.0, "212000 km", "fitment")
    assert fitment.history.get().history_user == crew.technician


def test_a_turbocharger_keeps_its_history_when_it_moves_to_another_engine(crew, single, stock, twin):
    fit_turbocharger(user=crew.technician, turbocharger=stock, engine=single, position="single", fitted_on=DAY)
    later = DAY + timedelta(days=30)
    remove_turbocharger(user=crew.technician, turbocharger=stock, removed_on=later, reason="moved")
    fit_turbocharger(user=crew.technician, turbocharger=stock, engine=twin, position="rear", fitted_on=later)
    assert [(f.engine, f.position) for f in stock.fitments.order_by("pk")] == [(single, "single"), (twin, "rear")]


def test_a_turbocharger_fitted_twice_is_refused(crew, single, stock, twin):
    arguments = {"user": crew.technician, "turbocharger": stock, "fitted_on": DAY}
    fit_turbocharger(engine=single, position="single", **arguments)
    assert refusal(fit_turbocharger, engine=twin, position="front", **arguments) == (
        "turbocharger_fitted_once",
        "turbocharger",
    )
    assert Fitment.objects.count() == 1


def test_a_position_holds_one_turbocharger(crew, single, stock):
    FitmentFactory(engine=single, turbocharger__depot=crew.depot)
    arguments = {"user": crew.technician, "turbocharger": stock, "fitted_on": DAY}
    assert refusal(fit_turbocharger, engine=single, position="single", **arguments) == (
        "position_holds_one",
        "position",
    )


@pytest.mark.parametrize("position", ["front", "rear", "middle"])
def test_a_position_must_exist_on_the_engine(crew, single, stock, position):
    arguments = {"user": crew.technician, "turbocharger": stock, "engine": single, "fitted_on": DAY}
    assert refusal(fit_turbocharger, position=position, **arguments) == ("position_not_on_engine", "position")


def test_a_twin_engine_has_no_single_position(crew, twin, stock):
    arguments = {"user": crew.technician, "turbocharger": stock, "engine": twin, "fitted_on": DAY}
    assert refusal(fit_turbocharger, position="single", **arguments) == ("position_not_on_engine", "position")


def test_an_overlap_with_a_closed_fitment_is_refused(crew, single, stock, twin):
    FitmentFactory(turbocharger=stock, engine=single, fitted_on=DAY, removed_on=DAY + timedelta(days=100))
    inside = {"user": crew.technician, "fitted_on": DAY + timedelta(days=50)}
    assert refusal(fit_turbocharger, turbocharger=stock, engine=twin, position="front", **inside) == (
        "fitment_overlaps",
        "fitted_on",
    )
    other = TurbochargerFactory(depot=crew.depot)
    assert refusal(fit_turbocharger, turbocharger=other, engine=single, position="single", **inside) == (
        "fitment_overlaps",
        "fitted_on",
    )


def test_removal_and_next_fitting_may_share_a_day(crew, single, stock):
    FitmentFactory(turbocharger__depot=crew.depot, engine=single, fitted_on=DAY, removed_on=DAY + timedelta(days=9))
    fitment = fit_turbocharger(
        user=crew.technician, turbocharger=stock, engine=single, position="single", fitted_on=DAY + timedelta(days=9)
    )
    assert fitment.pk


def test_a_day_in_the_future_is_refused(crew, single, stock):
    arguments = {"user": crew.technician, "turbocharger": stock, "engine": single, "position": "single"}
    tomorrow = timezone.localdate() + timedelta(days=2)
    assert refusal(fit_turbocharger, fitted_on=tomorrow, **arguments) == ("in_the_future", "fitted_on")


def test_what_was_scrapped_or_not_yet_received_cannot_be_fitted(crew, single, stock):
    arguments = {"user": crew.technician, "engine": single, "position": "single"}
    early = stock.received_on - timedelta(days=1)
    assert refusal(fit_turbocharger, turbocharger=stock, fitted_on=early, **arguments)[0] == "fitted_before_received"
    scrapped = TurbochargerFactory(depot=crew.depot, scrapped_on=DAY)
    assert refusal(fit_turbocharger, turbocharger=scrapped, fitted_on=DAY, **arguments)[0] == "scrapped"


def test_removal_cannot_come_before_fitting_nor_below_its_meter(crew, single, stock):
    FitmentFactory(
        turbocharger=stock, engine=single, fitted_on=DAY, fitted_odometer_km=1000.0, fitted_engine_hours=50.0
    )
    arguments = {"user": crew.technician, "turbocharger": stock}
    assert refusal(remove_turbocharger, removed_on=DAY - timedelta(days=1), **arguments) == (
        "removed_after_fitted",
        "removed_on",
    )
    lower = refusal(remove_turbocharger, removed_on=DAY, meter=Meter(999.0, "999 km", None), **arguments)
    assert lower == ("removal_meter_not_below_fitting", "odometer")
    fewer = refusal(remove_turbocharger, removed_on=DAY, meter=Meter(None, "", 49.0), **arguments)
    assert fewer == ("removal_meter_not_below_fitting", "engine_hours")


def test_what_is_not_fitted_cannot_be_removed_or_swapped(crew, stock):
    other = TurbochargerFactory(depot=crew.depot)
    assert refusal(remove_turbocharger, user=crew.technician, turbocharger=stock, removed_on=DAY)[0] == "not_fitted"
    assert refusal(swap_turbocharger, user=crew.technician, off=stock, on=other, swapped_on=DAY)[0] == "not_fitted"


def test_a_swap_removes_and_fits_at_one_date_and_meter(crew, single, stock):
    old = FitmentFactory(turbocharger__depot=crew.depot, engine=single)
    new = swap_turbocharger(
        user=crew.technician, off=old.turbocharger, on=stock, swapped_on=DAY,
        meter=Meter(250_000.0, "250000 km", None), reason="worn",
    )  # fmt: skip
    old.refresh_from_db()
    assert (old.removed_on, old.removed_odometer_km, old.removal_reason) == (DAY, 250_000.0, "worn")
    assert (new.engine, new.position, new.fitted_on, new.fitted_odometer_km) == (single, "single", DAY, 250_000.0)


def test_twins_change_places_in_one_step(crew, twin):
    front = FitmentFactory(turbocharger__depot=crew.depot, engine=twin, position="front").turbocharger
    rear = FitmentFactory(turbocharger__depot=crew.depot, engine=twin, position="rear").turbocharger
    swap_turbocharger(user=crew.technician, off=front, on=rear, swapped_on=DAY)
    now = {f.position: f.turbocharger for f in twin.fitments.filter(removed_on=None)}
    assert now == {"front": rear, "rear": front}
    assert twin.fitments.count() == 4


def test_a_swap_that_fails_half_way_changes_nothing(crew, single):
    old = FitmentFactory(turbocharger__depot=crew.depot, engine=single)
    scrapped = TurbochargerFactory(depot=crew.depot, scrapped_on=DAY)
    arguments = {"user": crew.technician, "off": old.turbocharger, "swapped_on": DAY}
    assert refusal(swap_turbocharger, on=scrapped, **arguments) == ("scrapped", "on")
    old.refresh_from_db()
    assert old.removed_on is None
    assert Fitment.objects.count() == 1


def test_a_swap_refuses_what_sits_on_another_engine_and_itself(crew, single, twin):
    old = FitmentFactory(turbocharger__depot=crew.depot, engine=single)
    elsewhere = FitmentFactory(turbocharger__depot=crew.depot, engine=twin, position="front").turbocharger
    arguments = {"user": crew.technician, "off": old.turbocharger, "swapped_on": DAY}
    assert refusal(swap_turbocharger, on=elsewhere, **arguments) == ("turbocharger_fitted_once", "on")
    assert refusal(swap_turbocharger, on=old.turbocharger, **arguments) == ("same_turbocharger", "on")


def test_a_fitted_turbocharger_belongs_to_the_depot_of_its_engine(crew, stock):
    other = DepotFactory()
    engine = EngineFactory(depot=other)
    crew.technician.memberships.create(depot=other, role="technician")
    fit_turbocharger(user=crew.technician, turbocharger=stock, engine=engine, position="single", fitted_on=DAY)
    stock.refresh_from_db()
    assert stock.depot == other


@pytest.mark.parametrize("who", ["viewer", "stranger"])
def test_a_viewer_or_stranger_fits_nothing(crew, single, stock, who):
    arguments = {"turbocharger": stock, "engine": single, "position": "single", "fitted_on": DAY}
    assert refusal(fit_turbocharger, user=getattr(crew, who), **arguments) == ("not_allowed", "")
