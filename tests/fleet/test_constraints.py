"""What must never be in the data: each rule of the register, by its code, and the database behind it."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

from fleet.models import Complaint, Depot, Membership, MeterReading, Note
from tests.factories import (
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    MembershipFactory,
    TruckFactory,
    TurbochargerFactory,
    TurbochargerModelFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db
EARLY, DAY = date(2019, 1, 1), date(2023, 1, 1)


def another_fitment():
    first = FitmentFactory()
    return FitmentFactory.build(turbocharger=first.turbocharger, engine=EngineFactory())


def same_place():
    first = FitmentFactory()
    return FitmentFactory.build(turbocharger=TurbochargerFactory(), engine=first.engine)


def fitment(**values):
    return FitmentFactory.build(turbocharger=TurbochargerFactory(), engine=EngineFactory(), **values)


def same_engine():
    return InstallationFactory.build(engine=InstallationFactory().engine, truck=TruckFactory())


def same_truck():
    return InstallationFactory.build(truck=InstallationFactory().truck, engine=EngineFactory())


def reading(**values):
    return MeterReading(truck=TruckFactory(), read_at=datetime(2023, 1, 1, tzinfo=UTC), **values)


def same_moment():
    first = reading(odometer_km=1.0)
    first.save()
    return MeterReading(truck=first.truck, read_at=first.read_at, odometer_km=1.0)


def complaint(**values):
    return Complaint(truck=TruckFactory(), kind="smoke", raised_on=DAY, raised_by="driver", **values)


def same_name():
    Depot.objects.create(code="A", name="Saltmarsh")
    return Depot(code="B", name="SALTMARSH")


def same_vin():
    TruckFactory(vin="11111111111111111")
    return TruckFactory.build(depot=TruckFactory().depot, vin="11111111111111111")


def second_role():
    first = MembershipFactory()
    return Membership(user=first.user, depot=first.depot, role="viewer")


BROKEN = {
    "depot_name_once": same_name,
    "depot_working_days": lambda: Depot(code="A", name="Brae End", working_days="331"),
    "depot_name_given": lambda: Depot(code="A", name=""),
    "vin_once": same_vin,
    "unit_number_given": lambda: TruckFactory.build(depot=TruckFactory().depot, unit_number=""),
    "truck_retired_after_service": lambda: TruckFactory.build(depot=TruckFactory().depot, retired_on=EARLY),
    "engine_serial_given": lambda: EngineFactory.build(depot=TruckFactory().depot, serial=""),
    "engine_in_one_truck": same_engine,
    "truck_has_one_engine": same_truck,
    "engine_removed_after_installed": lambda: InstallationFactory.build(
        truck=TruckFactory(), engine=EngineFactory(), removed_on=EARLY
    ),
    "model_name_given": lambda: TurbochargerModelFactory.build(name=""),
    "turbocharger_serial_given": lambda: TurbochargerFactory.build(
        depot=TruckFactory().depot, model=TurbochargerModelFactory(), serial=""
    ),
    "scrapped_after_received": lambda: TurbochargerFactory.build(
        depot=TruckFactory().depot, model=TurbochargerModelFactory(), scrapped_on=EARLY
    ),
    "turbocharger_fitted_once": another_fitment,
    "position_holds_one": same_place,
    "removed_after_fitted": lambda: fitment(removed_on=EARLY),
    "removal_meter_not_below_fitting": lambda: fitment(
        removed_on=DAY, fitted_odometer_km=10.0, removed_odometer_km=9.0
    ),
    "fitment_meters_not_negative": lambda: fitment(fitted_odometer_km=-1.0),
    "note_not_empty": lambda: Note(turbocharger=TurbochargerFactory(), author=UserFactory(), text=""),
    "meter_reading_given": lambda: reading(),
    "meter_reading_plausible": lambda: reading(odometer_km=1e9),
    "one_meter_reading_per_moment": same_moment,
    "complaint_closed_after_raised": lambda: complaint(closed_on=EARLY, finding="x"),
    "complaint_closed_with_finding": lambda: complaint(closed_on=DAY),
    "one_role_per_depot": second_role,
}
REGISTER = ("depot", "truck", "turbocharger", "usage", "complaint", "user")


def test_every_rule_of_the_register_is_tried_here():
    from django.apps import apps

    named = {
        constraint.name
        for model in apps.get_app_config("fleet").get_models()
        if model.__module__.rpartition(".")[2] in REGISTER and not model.__name__.startswith("Historical")
        for constraint in model._meta.constraints
    }
    assert named == set(BROKEN)


@pytest.mark.parametrize("code", BROKEN)
def test_a_broken_rule_is_refused_with_its_code_and_by_the_database(code):
    row: models.Model = BROKEN[code]()
    with pytest.raises(ValidationError) as caught:
        row.validate_constraints()
    wrongs = [wrong for wrong in caught.value.error_dict["__all__"] if wrong.code == code]
    assert wrongs, caught.value
    assert wrongs[0].message.endswith(".")
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()
