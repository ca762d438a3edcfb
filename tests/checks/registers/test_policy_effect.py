"""Before a policy is kept its page tells what it would do: checks and time outside, by depot against the bay."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import Policy, Standing
from checks.selectors.policy_effect import policy_effect, room_of
from checks.services.check import record_check
from checks.services.plan import replan
from tests.bay import make_bay
from tests.checks.registers.pages.posting import POLICY
from tests.factories import DepotFactory, DriftFitFactory, ForecastFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    """A unit checked 100 days ago, with a forecast and no rule of risk yet."""
    made = make_bay()
    at = timezone.now() - timedelta(days=100)
    record_check(
        user=made.technician,
        submission=made.submission(made_at=at.isoformat(), cautions_read_at=at.isoformat()),
    )
    ForecastFactory(
        turbocharger=made.turbocharger,
        fit=DriftFitFactory(turbocharger_model=made.turbocharger.model),
        epoch_began_on=at.date(),
    )
    Policy.objects.create(pk=1)
    replan([made.turbocharger.pk])
    return made


def changed(**values):
    policy = Policy.objects.get()
    for name, value in values.items():
        setattr(policy, name, value)
    return policy


def told(bay, **values):
    now = Policy.objects.get()
    return policy_effect(user=bay.manager, now=now, then=changed(**values), today=timezone.localdate())


def test_no_change_does_nothing(bay):
    fleet = told(bay).fleet
    assert (fleet.checks_now, fleet.outside_now) == (fleet.checks_then, fleet.outside_then)


def test_a_shorter_longest_time_brings_the_check_into_the_quarter(bay):
    quiet = told(bay, risk_level=0.49, risk_min_days=3000)
    assert quiet.fleet.checks_then == 0
    sooner = told(bay, calendar_max_days=150, risk_level=0.49, risk_min_days=3000)
    assert sooner.fleet.checks_then == 1


def test_a_moved_rule_falls_on_the_day_that_planning_by_the_new_policy_gives(bay):
    """Against the plan itself, made anew by the changed policy."""
    then = changed(usage_max_km=60_000, calendar_max_days=140)
    found = policy_effect(
        user=bay.manager, now=Policy.objects.get(), then=changed(usage_max_km=60_000, calendar_max_days=140,
        risk_min_days=3000), today=timezone.localdate(),
    )  # fmt: skip
    then.save()
    replan([bay.turbocharger.pk])
    days = {
        rule["rule"]: (date.fromisoformat(rule["on"]) - timezone.localdate()).days
        for rule in Standing.objects.get().rules
        if rule["rule"] != "risk"
    }
    assert found.fleet.checks_then == int(min(days.values()) <= 91)
    assert days["calendar_maximum"] == 40


def test_a_higher_risk_level_means_more_time_outside(bay):
    strict = told(bay, risk_level=0.02, risk_min_days=1)
    loose = told(bay, risk_level=0.3, risk_min_days=1)
    assert loose.fleet.outside_then > strict.fleet.outside_then
    assert loose.fleet.checks_then <= strict.fleet.checks_then


def test_depots_of_others_are_in_the_fleet_but_not_named(bay):
    other = make_bay()
    Standing.objects.create(
        turbocharger=other.turbocharger,
        due_on=timezone.localdate(),
        rules=[
            {"rule": "void", "on": str(timezone.localdate()), "by_date": str(timezone.localdate()), "by_usage": None}
        ],
    )
    found = told(bay)
    assert [row.name for row in found.depots] == [bay.depot.name]
    assert found.units == 2
    assert found.unforecast == 1
    assert found.fleet.checks_now == found.depots[0].checks_now + 1


def test_a_bay_makes_its_checks_on_its_working_days():
    """91 days hold 13 of each weekday."""
    depot = DepotFactory(checks_per_day=3, working_days="135")
    assert room_of(depot, timezone.localdate()) == 3 * 3 * 13


def test_more_checks_than_the_bay_can_make_are_flagged(bay):
    bay.depot.checks_per_day = 0
    bay.depot.save()
    assert told(bay, calendar_max_days=110).depots[0].over


def test_the_page_shows_the_effect_keeps_what_was_typed_and_saves_nothing(bay, signed_in):
    sent = POLICY | {"calendar_max_days": "110", "reason": "", "preview": "1"}
    answer = signed_in(bay.manager).post(reverse("checks:policy"), sent)
    shown = answer.content.decode()
    assert answer.status_code == 200
    assert "unit-months outside the window to be expected" in shown
    assert 'value="110"' in shown
    assert Policy.objects.get().calendar_max_days == 365


def test_a_change_of_basis_says_that_it_cannot_be_told(bay, signed_in):
    shown = signed_in(bay.manager).post(reverse("checks:policy"), POLICY | {"usage_basis": "hours", "preview": "1"})
    assert "cannot be told beforehand" in shown.content.decode()


@pytest.mark.parametrize(
    ("field", "text"), [("risk_level_text", "60"), ("leaving_level_text", "4"), ("void_days", "x")]
)
def test_a_wrong_value_is_refused_in_the_preview_too(bay, signed_in, field, text):
    answer = signed_in(bay.manager).post(reverse("checks:policy"), POLICY | {field: text, "preview": "1"})
    assert answer.status_code == 422
    assert "What the change would do" in answer.content.decode()


def test_only_a_manager_looks_at_changes(bay, signed_in):
    answer = signed_in(bay.technician).post(reverse("checks:policy"), POLICY | {"preview": "1"})
    assert answer.status_code == 403


def test_a_fleet_without_plans_has_nothing_to_tell():
    bay = make_bay()
    found = policy_effect(user=bay.manager, now=Policy(), then=Policy(risk_level=0.2), today=timezone.localdate())
    assert (found.units, found.fleet.checks_then, found.fleet.outside_then) == (0, 0, 0.0)
