"""The morning mail: one a day for each member of a depot who wants it, and none where there is nothing to say."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils import timezone

from checks.selectors.days import day_at
from fleet.jobs.requests import enqueue
from fleet.jobs.run import Run
from fleet.models import Depot, User
from reports.selectors.digest import MAIL, Digest, depots_with_readers, digest_of, last_mail, mails_asked, readers_of
from reports.words.grammar import capital, count_of, listing

# From six o'clock at the depot; after noon, when the worker was down all morning, it is no morning mail any more.
HOURS = range(6, 12)
# As far back as a depot's first mail looks.
FIRST_LOOK = timedelta(days=1)


def ask_for_mails(now: datetime | None = None) -> int:
    """Ask for the mail of each depot where it is morning and which has none yet today; returns how many."""
    moment = now or timezone.now()
    awake = [row for row in depots_with_readers() if moment.astimezone(ZoneInfo(row.time_zone)).hour in HOURS]
    keys = {f"depot {row.pk} {day_at(row, moment)}": row for row in awake}
    fresh = set(keys) - mails_asked(keys)
    for key in sorted(fresh):
        depot = keys[key]
        enqueue(kind=MAIL, arguments={"depot": depot.pk, "day": str(day_at(depot, moment))}, key=key)
    return len(fresh)


def send_morning_mail(run: Run) -> dict[str, Any]:
    """Send one depot's mails. Arguments: ``depot``, its primary key, and ``day``.

    Each person is a chunk, so that a killed worker goes on with the next one; only who was just being written to may
    get the same mail twice, with the same Message-ID.
    """
    depot = Depot.objects.get(pk=run.arguments["depot"])
    now = timezone.now()
    since, known = last_mail(depot, before=run.job_id)
    digest = digest_of(depot, now=now, since=since or now - FIRST_LOOK, known_leaving=known)
    if str(digest.day) != run.arguments["day"] or not digest.says_something:
        return {"mails": 0, "leaving": digest.leaving}
    after, done = run.chunk or [0, 0]
    for person in readers_of(depot).filter(pk__gt=after):
        done += 1
        with run.step(chunk=[person.pk, done], done=done, message=f"{count_of(done, 'mail')} sent"):
            mail_for(person, digest).send()
    return {"mails": done, "leaving": digest.leaving}


def mail_for(person: User, digest: Digest) -> EmailMultiAlternatives:
    """One person's mail, as plain text and as simple HTML."""
    context = {"digest": digest, "site": settings.SITE_URL, "sentence": digest_sentence(digest), "person": person}
    host = settings.SITE_URL.split("://")[-1].split("/")[0].split(":")[0]
    mail = EmailMultiAlternatives(
        subject=f"{digest.depot.name}: {digest_sentence(digest)}",
        body=render_to_string("reports/mail/morning.txt", context),
        to=[person.email],
        headers={
            "Message-ID": f"<morning-{digest.depot.pk}-{digest.day}-{person.pk}@{host}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    mail.attach_alternative(render_to_string("reports/mail/morning.html", context), "text/html")
    return mail


def digest_sentence(digest: Digest) -> str:
    """Such as ``Three checks today, two overdue, one unit found outside.``"""
    parts = [
        (digest.today.total, count_of(digest.today.total, "check") + " today"),
        (digest.overdue.total, count_of(digest.overdue.total, "overdue", "overdue")),
        (digest.outside.total, count_of(digest.outside.total, "unit") + " found outside"),
        (digest.leaving_now.total, count_of(digest.leaving_now.total, "unit") + " about to leave"),
        (digest.instruments.total, count_of(digest.instruments.total, "instrument") + " to calibrate"),
    ]
    return capital(listing([text for total, text in parts if total])) + "."
