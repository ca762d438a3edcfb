"""Where stored readings lie along the use of their unit: epochs, meters, trucks, hours."""

from datetime import timedelta

import pytest
from django.utils import timezone

from checks.models import Amendment, Policy, Standing
from checks.selectors.drift import BACKWARD, NO_FITMENT, NO_METER, VOID, model_history
from fleet.models import Fitment, MeterReading
from tests.checks.services.refitted import forecast, refitted
from tests.drifting_fleet import FITTED, KM_PER_DAY, make_fleet

pytestmark = pytest.mark.django_db


def history(fleet):
    return model_history(fleet.bay.turbocharger.model)


def usages(fleet, unit) -> list[float]:
    """Scaled usages of one unit's readings."""
    found = history(fleet)
    place = next(place for place, life in enumerate(found.lives) if life and life.turbocharger == unit.pk)
    return list(found.epochs.usage[found.epochs.unit == place])


def test_every_adjustment_begins_an_epoch_with_the_reading_it_left():
    fleet = make_fleet(5)
    unit = fleet.add_unit()
    for nth in range(10):
        fleet.add_check(unit, 60 * (nth + 1), 1.7, left_mm=1.45)
    refitted(fleet)
    said = forecast(unit)
    assert (said.setting, said.readings) == ("workshop", 20)
    assert said.epoch_began_on == FITTED + timedelta(days=600)
    found = usages(fleet, unit)
    assert found.count(0.0) == 10
    assert max(found) == pytest.approx(KM_PER_DAY * 60 / 100_000, rel=0.01)


def test_a_stroke_left_without_turning_the_rod_stays_in_its_epoch():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, 1.5, left_mm=1.51, half_turns=0)
    refitted(fleet)
    assert (forecast(unit).setting, forecast(unit).readings) == ("plant", 2)


def test_usage_goes_on_over_a_replaced_meter():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    truck = Fitment.objects.get(turbocharger=unit).engine.installations.get().truck
    fleet.add_check(unit, 100, 1.5)
    at = timezone.make_aware(timezone.datetime(2024, 4, 11))
    MeterReading.objects.create(truck=truck, read_at=at, odometer_km=0.0, replaced_meter=True)
    fleet.add_check(unit, 200, 1.55, odometer_km=30_000.0)
    fleet.add_check(unit, 300, 1.6, odometer_km=60_000.0)
    found = usages(fleet, unit)
    assert found[1] - found[0] == pytest.approx(0.30, abs=0.02)
    assert found[2] - found[1] == pytest.approx(0.30, abs=0.001)


def test_a_unit_that_moves_keeps_its_readings_and_begins_an_epoch_of_the_same_kind():
    fleet = make_fleet(5)
    unit, other = fleet.add_unit(), fleet.add_unit()
    fleet.add_check(unit, 100, 1.6, left_mm=1.45)
    Fitment.objects.filter(turbocharger__in=[unit, other]).update(removed_on=FITTED + timedelta(days=150))
    engine = Fitment.objects.get(turbocharger=other).engine
    Fitment.objects.create(
        turbocharger=unit, engine=engine, fitted_on=FITTED + timedelta(days=160), fitted_odometer_km=49_000.0
    )
    refitted(fleet)
    said = forecast(unit)
    assert (said.setting, said.readings) == ("workshop", 2)
    assert (said.epoch_began_on, said.epoch_began_usage) == (FITTED + timedelta(days=160), 49_000.0)


def test_what_cannot_be_placed_is_left_out_with_its_reason():
    fleet = make_fleet(2)
    unit, unread = fleet.add_unit(), fleet.add_unit(meters=False)
    wrong = {
        VOID: fleet.add_check(unit, 10, 0.0, state="void"),
        BACKWARD: fleet.add_check(unit, 30, 1.5, odometer_km=100.0),
        NO_METER: fleet.add_check(unread, 400, 1.5, odometer_km=None),
        NO_FITMENT: fleet.add_check(unit, -30, 1.5, fitment=None, odometer_km=0.0),
    }
    assert {(row["check"], row["reason"]) for row in refitted(fleet).left_out} == {
        (check.pk, reason) for reason, check in wrong.items()
    }


def test_without_any_odometer_usage_is_reckoned_from_days_and_said_to_be():
    fleet = make_fleet(45)
    unread = fleet.add_unit(meters=False)
    life = next(life for life in history(fleet).lives if life and life.turbocharger == unread.pk)
    days = (timezone.localdate() - FITTED).days
    assert (life.estimated, life.usage_now) == (True, pytest.approx(350.0 * days, abs=400))
    refitted(fleet)
    assert forecast(unread).epoch_began_usage is None


def test_an_amended_odometer_counts():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, 1.5)
    Amendment.objects.create(
        check_made=check, field="odometer", old_value="31037 km", new_value="21000 km", reason="slip",
        author=fleet.bay.manager,
    )  # fmt: skip
    assert usages(fleet, unit) == [pytest.approx(0.2)]


def test_drift_may_be_counted_in_engine_hours():
    Policy.objects.create(pk=1, usage_basis="hours")
    fleet = make_fleet(45, hours=True)
    fit = refitted(fleet)
    # 2,000 h are 100,000 km at the 50 km/h of this fleet, so the same drift comes out.
    assert fit.basis == "hours"
    assert fit.estimates["beta"][2] == pytest.approx(0.1, abs=0.03)
    plan = Standing.objects.get(turbocharger=fleet.units[0])
    assert next(rule for rule in plan.rules if rule["rule"] == "risk")["inputs"]["unit"] == "h"
