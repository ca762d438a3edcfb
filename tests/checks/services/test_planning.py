"""Standing and plan follow the register, at a cost that does not grow with the fleet."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from checks.models import Policy, Standing
from checks.selectors.stale import stale_plans
from checks.services.check import record_check
from checks.services.plan import all_turbochargers, replan, replan_stale
from fleet.models import Complaint, Fitment, MeterReading, Turbocharger
from tests.bay import make_bay, readings

pytestmark = pytest.mark.django_db
CHECKED = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)


def standing(bay) -> Standing:
    return Standing.objects.get(turbocharger=bay.turbocharger)


def test_a_unit_never_checked_waits_for_its_first_look():
    bay = make_bay()
    replan([bay.turbocharger.pk])
    row = standing(bay)
    assert (row.state, row.binding_rule, row.due_on) == ("never_checked", "first_look", date(2023, 3, 1))
    assert row.last_check is None


def test_a_unit_on_the_shelf_has_nothing_due():
    bay = make_bay()
    Fitment.objects.update(removed_on="2025-01-01")
    replan([bay.turbocharger.pk])
    assert (standing(bay).due_on, standing(bay).rules) == (None, [])
    assert "Not fitted" in standing(bay).sentence


@pytest.mark.parametrize(
    ("travel", "cycles", "state", "rule", "days"),
    [
        ("95", 3, "outside_high", "outside_left", 3),
        ("20", 3, "outside_low", "outside_left", 3),
        ("80", 3, "undecided", "undecided", 14),
        ("59.5", 1, "void", "void", 7),
    ],
)
def test_each_outcome_brings_its_own_next_look(travel, cycles, state, rule, days):
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission(as_found={"readings": readings(travel, cycles=cycles)}))
    row = standing(bay)
    assert (row.state, row.binding_rule) == (state, rule)
    assert row.due_on - date(2025, 3, 4) == timedelta(days=days)


def test_a_trucks_own_rate_of_use_sets_the_date():
    bay = make_bay()
    for week in range(9):
        at = CHECKED - timedelta(weeks=week + 1)
        MeterReading.objects.create(truck=bay.truck, read_at=at, odometer_km=212_000 - 7 * 1000 * (week + 1))
    record_check(user=bay.technician, submission=bay.submission())
    assert standing(bay).due_on == date(2025, 3, 4) + timedelta(days=120)  # 120,000 km at 1,000 km a day


def test_an_older_check_that_arrives_late_does_not_take_over():
    bay = make_bay()
    newer = record_check(user=bay.technician, submission=bay.submission())
    early = "2025-01-04T09:30:00+00:00"
    late = bay.submission(travel="95", made_at=early, cautions_read_at=early, odometer=None, engine_hours=None)
    record_check(user=bay.technician, submission=late)
    assert (standing(bay).last_check, standing(bay).state) == (newer, "inside")


def test_a_check_on_an_earlier_engine_is_no_first_look_on_this_one():
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    Fitment.objects.update(removed_on="2025-04-01")
    Fitment.objects.create(turbocharger=bay.turbocharger, engine=bay.engine, fitted_on="2025-05-01")
    replan([bay.turbocharger.pk])
    assert (standing(bay).state, standing(bay).binding_rule) == ("inside", "first_look")
    assert standing(bay).due_on == date(2026, 5, 1)


def test_the_register_overtakes_a_plan_and_the_next_beat_catches_up(no_writes):
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    replan_stale()
    with no_writes():
        assert not stale_plans().exists()
    Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on=date(2025, 5, 1), raised_by="driver")
    assert [row.pk for row in stale_plans()] == [bay.turbocharger.pk]
    assert replan_stale() == 1
    assert (standing(bay).binding_rule, standing(bay).due_on) == ("open_complaint", date(2025, 5, 15))
    assert replan_stale() == 0


def test_each_change_of_the_register_makes_a_plan_stale():
    bay = make_bay()
    changes = (
        lambda: MeterReading.objects.create(truck=bay.truck, read_at=timezone.now(), odometer_km=300_000),
        lambda: Fitment.objects.get().save(),
        lambda: bay.engine.installations.get().save(),
        lambda: Turbocharger.objects.get().save(),
        lambda: Policy(id=1).save(),
    )
    for change in changes:
        replan_stale()
        assert not stale_plans().exists()
        change()
        assert stale_plans().count() == 1


def test_a_rebuild_gives_the_same_numbers():
    for travel in ("59.5", "95"):
        bay = make_bay()
        record_check(user=bay.technician, submission=bay.submission(travel=travel))
    columns = [field.name for field in Standing._meta.fields if field.name not in {"id", "derived_at"}]
    before = list(Standing.objects.order_by("turbocharger").values(*columns))
    Standing.objects.all().delete()
    assert replan(all_turbochargers()) == 2
    assert list(Standing.objects.order_by("turbocharger").values(*columns)) == before


def test_eight_units_cost_as_many_queries_as_one():
    bays = [make_bay() for _ in range(8)]
    for bay in bays[:4]:
        record_check(user=bay.technician, submission=bay.submission())
    with CaptureQueriesContext(connection) as one:
        replan([bays[0].turbocharger.pk])
    everything = all_turbochargers()
    with CaptureQueriesContext(connection) as many:
        replan(everything)
    assert len(many) == len(one)
