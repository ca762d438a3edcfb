"""The calendar of due checks: RFC 5545, read back by a parser that did not write it."""

import re
from datetime import timedelta

import pytest
import vobject
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from checks.services.bay import level_depot, move_check
from fleet.models import CalendarFeed, Membership
from fleet.selectors.feed import feed_owner
from fleet.services.feed import end_feed, renew_feed
from fleet.services.membership import end_membership
from reports.selectors.calendar import due_events
from tests.bay import make_bay
from tests.factories import MembershipFactory, UserFactory
from tests.reports.week_units import all_week, due_unit, number_of

pytestmark = pytest.mark.django_db


def fetch(secret):
    """What a calendar program gets at a secret address, without a sign-in."""
    return Client().get(reverse("reports:calendar", args=[secret]))


def events(answer):
    """The events of an answer as the other parser reads them."""
    return {str(event.uid.value): event for event in vobject.readOne(answer.content.decode()).vevent_list}


def test_a_due_check_is_an_event_of_its_whole_day():
    bay = all_week(make_bay())
    unit = due_unit(bay, 3)
    level_depot(depot=bay.depot)
    answer = fetch(renew_feed(user=bay.viewer))
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    (event,) = events(answer).values()
    assert event.uid.value == f"check-of-unit-{unit.pk}@wastegate-register"
    assert event.dtstart.value == timezone.localdate() + timedelta(days=3)
    assert event.dtend.value == event.dtstart.value + timedelta(days=1)
    assert event.summary.value == f"Check {number_of(unit)}: distance is reached"
    assert event.description.value.startswith("Due by usage_maximum; see it.\nPlanned for ")
    assert event.url.value == f"http://testserver{reverse('reports:unit', args=[unit.pk])}"
    assert event.dtstamp.value.tzinfo is not None


def test_the_text_is_as_rfc_5545_asks():
    """RFC 5545, 3.1 (lines end with CRLF and are folded at 75 octets), 3.3.11 (escaping), 3.6 and 3.6.1 (what must be
    there), from memory; its own published text was not at hand.
    """
    bay = all_week(make_bay())
    sentence = "Gauge, dial; \\ and “ümläut” " * 8
    for days in range(3):
        unit = due_unit(bay, days)
        unit.standing.rules[0]["sentence"] = sentence
        unit.standing.save()
    raw = fetch(renew_feed(user=bay.viewer)).content
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert max(len(line) for line in lines) <= 75
    unfolded = raw.replace(b"\r\n ", b"").decode()
    assert re.search(r"^DESCRIPTION:Gauge\\, dial\\; \\\\ and “ümläut” ", unfolded, re.MULTILINE)
    assert unfolded.count("\r\nDTSTART;VALUE=DATE:") == 3
    for must in ("PRODID:", "VERSION:2.0", "METHOD:PUBLISH"):
        assert unfolded.count(f"\r\n{must}") == 1
    for must in ("UID:", "DTSTAMP:"):
        assert unfolded.count(f"\r\n{must}") == 3
    assert len(set(re.findall(r"\r\nUID:(.*)\r\n", unfolded))) == 3
    assert {event.description.value.split("\n")[0] for event in vobject.readOne(raw.decode()).vevent_list} == {sentence}


def test_an_event_keeps_its_identity_when_its_day_moves():
    bay = all_week(make_bay())
    unit, secret = due_unit(bay, 1), renew_feed(user=bay.viewer)
    ((uid, before),) = events(fetch(secret)).items()
    move_check(user=bay.manager, turbocharger=unit, day=timezone.localdate() + timedelta(days=5))
    after = events(fetch(secret))[uid]
    assert after.dtstart.value - before.dtstart.value == timedelta(days=4)
    assert after.dtstamp.value >= before.dtstamp.value


def test_an_empty_calendar_is_a_calendar():
    assert b"BEGIN:VCALENDAR\r\n" in fetch(renew_feed(user=make_bay().viewer)).content


def test_only_the_depots_of_its_owner_are_in_it():
    bay, other = make_bay(), make_bay()
    due_unit(bay, 1)
    due_unit(other, 1)
    secret = renew_feed(user=bay.viewer)
    assert len(events(fetch(secret))) == 1
    MembershipFactory(user=bay.viewer, depot=other.depot, role=Membership.Role.VIEWER)
    assert len(events(fetch(secret))) == 2
    end_membership(user=other.manager, membership=bay.viewer.memberships.get(depot=other.depot))
    assert len(events(fetch(secret))) == 1


def test_the_address_ends_with_a_new_one_with_the_last_membership_and_with_the_person():
    bay = make_bay()
    old = renew_feed(user=bay.viewer)
    new = renew_feed(user=bay.viewer)
    assert (fetch(old).status_code, fetch(new).status_code) == (404, 200)
    bay.viewer.is_active = False
    bay.viewer.save()
    assert fetch(new).status_code == 404
    bay.viewer.is_active = True
    bay.viewer.save()
    end_membership(user=bay.manager, membership=bay.viewer.memberships.get())
    assert fetch(new).status_code == 404


def test_an_ended_calendar_is_gone_and_a_guess_finds_none():
    bay = make_bay()
    secret = renew_feed(user=bay.viewer)
    end_feed(user=bay.viewer)
    for guess in (secret, "x", "a" * 43, "%00"):
        assert fetch(guess).status_code == 404


def test_the_secret_itself_is_not_kept():
    user = UserFactory()
    secret = renew_feed(user=user)
    assert len(secret) >= 43  # 256 bits
    assert secret not in str(CalendarFeed.objects.values().get())
    assert feed_owner(secret) is None  # belongs to no depot


def test_the_page_shows_the_address_once(signed_in):
    bay = make_bay()
    client = signed_in(bay.viewer)
    answer = client.post(reverse("fleet:feed_renew"))
    address = re.search(r'value="http://testserver(/calendar/[\w-]+\.ics)"', answer.content.decode())[1]
    assert answer.headers["Cache-Control"] == "no-store"
    assert Client().get(address).status_code == 200
    assert address not in client.get(reverse("fleet:me")).content.decode()
    client.post(reverse("fleet:feed_end"))
    assert Client().get(address).status_code == 404


def test_the_number_of_queries_stays_with_more_units(no_writes):
    bay = make_bay()
    due_unit(bay, 1)

    def cost():
        with CaptureQueriesContext(connection) as captured, no_writes():
            due_events(bay.viewer)
        return len(captured)

    few = cost()
    for days in range(8):
        due_unit(bay, days)
    assert cost() == few <= 3
