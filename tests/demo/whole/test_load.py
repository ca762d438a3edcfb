"""Loading goes through the services, happens once, and is kept to one's own machine."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone

from checks.models import Assessment, Check, Instrument, SpecificationRevision, Standing
from fleet.management.demo import load
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import PEOPLE
from fleet.management.demo.events import History
from fleet.models import Complaint, Depot, Fitment, Turbocharger, User

pytestmark = pytest.mark.django_db


def demo(*words: str) -> str:
    out = StringIO()
    call_command("demo", *words, stdout=out)
    return out.getvalue()


def test_the_first_run_says_what_it_loaded(loaded: History, first_run: str):
    assert f"60 trucks, {len(loaded.fleet.units)} turbochargers, {len(loaded.checks)} checks" in first_run


def test_everything_that_was_simulated_is_loaded(loaded: History):
    assert set(Check.objects.values_list("key", flat=True)) == {check.key for check in loaded.checks}
    assert Turbocharger.objects.count() == len(loaded.fleet.units)
    assert Fitment.objects.count() == len(loaded.fleet.fitments)
    assert Fitment.objects.filter(removed_on=None).count() == sum(len(truck.positions) for truck in loaded.fleet.trucks)
    assert Standing.objects.count() == len(loaded.fleet.units)
    assert Complaint.objects.filter(closed_on=None).count() == sum(c.closed_day is None for c in loaded.complaints)
    assert SpecificationRevision.objects.count() == 4
    assert all(row.typed for row in Instrument.objects.exclude(kind="regulator"))


def test_flawed_checks_are_void_in_the_database_too(loaded: History):
    flawed = {check.key for check in loaded.checks if check.flaw}
    void = Assessment.objects.filter(state="void", stroke__moment="as_found")
    assert set(void.values_list("stroke__check_made__key", flat=True)) == flawed
    assert flawed


def test_checks_bear_the_day_on_which_they_were_made(loaded: History):
    monday = Calendar(timezone.localdate()).monday
    for check in Check.objects.all():
        assert check.made_at.date() < monday
        assert check.recorded_at - check.made_at == load.SIGNED_AFTER


def test_a_second_run_changes_nothing_and_keeps_what_was_entered(loaded: History):
    depot = Depot.objects.get(code="SALT")
    Depot.objects.filter(pk=depot.pk).update(checks_per_day=9)
    before = (Check.objects.count(), Assessment.objects.count(), User.objects.count())
    said = demo()
    assert "is here already" in said
    assert all(person.password in said for person in PEOPLE)
    assert (Check.objects.count(), Assessment.objects.count(), User.objects.count()) == before
    assert Depot.objects.get(pk=depot.pk).checks_per_day == 9


def test_the_printed_sign_ins_open_the_door(loaded: History):
    for person in PEOPLE:
        user = User.objects.get(username=person.username)
        assert user.check_password(person.password)
        assert set(user.memberships.values_list("depot__code", "role")) == {
            (code, person.role) for code in person.depots
        }
