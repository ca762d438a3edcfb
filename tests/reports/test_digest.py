"""The morning mail: once a day from six o'clock at the depot, to those who want it, when there is something to say."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.utils import timezone

from checks.models import Standing
from checks.services.bay import move_check
from fleet.jobs.tasks import run_job
from fleet.models import Job, Membership
from fleet.problems import FleetError
from fleet.services.membership import set_preferences
from reports.jobs.morning_mail import ask_for_mails
from tests.bay import make_bay, person
from tests.reports.week_units import all_week, due_unit, number_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    """A bay whose viewer reads the mail, at a depot where it is seven o'clock now."""
    bay = all_week(make_bay())
    shift = (7 - datetime.now(UTC).hour + 36) % 24 - 12  # Etc's names count westwards
    bay.depot.time_zone = f"Etc/GMT{-shift:+d}" if shift else "UTC"
    bay.depot.save()
    wants_mail(bay.viewer)
    return bay


def wants_mail(user):
    """Let a person have an address and the mail."""
    return set_preferences(user=user, email=f"{user.username}@example.org", morning_mail=True)


def send_all():
    """Run every mail that was asked for."""
    for job in Job.objects.filter(kind="morning-mail", state="queued"):
        run_job(job.pk)
    return mail.outbox


def in_bay_today(bay, **standing):
    """A unit whose check the bay makes today."""
    from checks.selectors.days import day_at

    unit = due_unit(bay, 1, **standing)
    move_check(user=bay.manager, turbocharger=unit, day=day_at(bay.depot, timezone.now()))
    return unit


def test_the_mail_tells_todays_checks_and_whats_overdue(bay):
    today, late = in_bay_today(bay), due_unit(bay, -5, "void", state=Standing.State.VOID)
    assert ask_for_mails() == 1
    (sent,) = send_all()
    assert sent.to == [bay.viewer.email]
    assert sent.subject == f"{bay.depot.name}: One check today and one overdue."
    assert f"- {number_of(today)}: never checked; distance is reached" in sent.body
    assert f"- {number_of(late)}: void; last check void" in sent.body
    assert f"http://localhost:8000/units/{late.pk}/" in sent.body
    ((html, kind),) = sent.alternatives
    assert kind == "text/html"
    assert f'<a href="http://localhost:8000/units/{late.pk}/">{number_of(late)}</a>' in html


def test_what_was_found_outside_since_and_what_is_about_to_leave_is_told_once(bay, checked):
    checked(bay, travel="95", days_ago=0)
    leaving = due_unit(bay, 20, leaving=True)
    ask_for_mails()
    (first,) = send_all()
    assert first.subject.endswith("One unit found outside and one unit about to leave.")
    assert f"About to leave their window\n- {number_of(leaving)}" in first.body
    Job.objects.update(key="of yesterday")
    in_bay_today(bay)
    ask_for_mails()
    second = send_all()[1]
    assert "Found outside" not in second.body
    assert "About to leave" not in second.body


def test_instruments_whose_calibration_ends_are_told(bay):
    bay.gauge.certificates.update(due_on=timezone.localdate() + timedelta(days=10))
    ask_for_mails()
    (sent,) = send_all()
    assert sent.subject.endswith("One instrument to calibrate.")
    assert f"- {bay.gauge.label}: due soon" in sent.body


def test_nothing_is_sent_when_there_is_nothing_to_say(bay):
    assert ask_for_mails() == 1
    assert send_all() == []
    assert Job.objects.get(kind="morning-mail").result == {"mails": 0, "leaving": []}


def test_a_day_has_one_mail_however_often_the_beat_comes(bay):
    in_bay_today(bay)
    assert (ask_for_mails(), ask_for_mails()) == (1, 0)
    assert len(send_all()) == 1
    assert ask_for_mails() == 0
    assert len(send_all()) == 1


def test_a_worker_that_was_killed_goes_on_with_the_next_person(bay):
    in_bay_today(bay)
    second = wants_mail(person(bay.depot, Membership.Role.TECHNICIAN))
    ask_for_mails()
    Job.objects.filter(kind="morning-mail").update(chunk=[bay.viewer.pk, 1], done_count=1)
    (sent,) = send_all()
    assert sent.to == [second.email]


def test_only_members_who_want_it_and_can_get_it_are_written_to(bay):
    in_bay_today(bay)
    stranger = wants_mail(make_bay().viewer)
    inactive = wants_mail(person(bay.depot, Membership.Role.MANAGER))
    inactive.is_active = False
    inactive.save()
    ask_for_mails()
    (sent,) = [one for one in send_all() if bay.depot.name in one.subject]
    assert sent.to == [bay.viewer.email]
    assert stranger.email not in str([one.to for one in mail.outbox if bay.depot.name in one.subject])


@pytest.mark.parametrize(("hour", "asked"), [(5, 0), (6, 1), (11, 1), (12, 0), (23, 0)])
def test_the_morning_is_the_depots_own(hour, asked):
    """At 49 degrees west clocks show three hours less than UTC all year in this zone (IANA: America/Cayenne)."""
    bay = make_bay()
    bay.depot.time_zone = "America/Cayenne"
    bay.depot.save()
    wants_mail(bay.viewer)
    assert ask_for_mails(datetime(2026, 7, 1, hour, 30, tzinfo=UTC) + timedelta(hours=3)) == asked


def test_the_day_is_the_depots_own(bay):
    ask_for_mails()
    local = timezone.now().astimezone(ZoneInfo(bay.depot.time_zone)).date()
    assert Job.objects.get(kind="morning-mail").arguments["day"] == str(local)


def test_a_mail_that_comes_too_late_is_not_sent(bay):
    in_bay_today(bay)
    ask_for_mails()
    Job.objects.filter(kind="morning-mail").update(arguments={"depot": bay.depot.pk, "day": "2020-01-01"})
    assert send_all() == []


def test_the_mail_needs_an_address(bay):
    with pytest.raises(FleetError) as caught:
        set_preferences(user=bay.technician, morning_mail=True, email="")
    assert (caught.value.code, caught.value.field) == ("mail_address_needed", "email")


def test_a_unit_named_like_markup_stays_text(bay):
    unit = in_bay_today(bay)
    truck = unit.fitments.get().engine.installations.get().truck
    truck.unit_number = "<b>7&8</b>"
    truck.save()
    ask_for_mails()
    (sent,) = send_all()
    assert "- <b>7&8</b>: " in sent.body
    assert "&lt;b&gt;7&amp;8&lt;/b&gt;" in sent.alternatives[0][0]
