"""Due checks as a calendar that other programs subscribe to (RFC 5545)."""

from collections.abc import Callable, Iterable
from datetime import timedelta

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views import View
from icalendar import Calendar
from icalendar import Event as Entry

from checks.display import day_text
from fleet.selectors.feed import feed_owner
from reports.selectors.calendar import Event, due_events


class CalendarView(View):
    """A person's due checks; whoever knows the secret address reads them, without a sign-in."""

    def get(self, request: HttpRequest, secret: str) -> HttpResponse:
        """Answer with the calendar; an address that was changed or ended, or whose owner left, is not found."""
        owner = feed_owner(secret)
        if owner is None:
            raise Http404
        text = calendar_of(due_events(owner), address=request.build_absolute_uri)
        answer = HttpResponse(text, content_type="text/calendar; charset=utf-8")
        answer.headers["Cache-Control"] = "private, no-store"
        answer.headers["X-Robots-Tag"] = "noindex"
        answer.headers["Content-Disposition"] = 'inline; filename="checks.ics"'
        return answer


def calendar_of(events: Iterable[Event], *, address: Callable[[str], str]) -> bytes:
    """The calendar's text: lines folded at 75 octets and ended by CRLF, values escaped."""
    calendar = Calendar()
    calendar.add("prodid", "-//Wastegate Register//Due checks//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Wastegate checks")
    calendar.add("refresh-interval", timedelta(hours=6), parameters={"VALUE": "DURATION"})
    for event in events:
        calendar.add_component(_entry(event, address))
    return bytes(calendar.to_ical())


def _entry(event: Event, address: Callable[[str], str]) -> Entry:
    entry = Entry()
    # The same unit keeps its identity when its day moves, so that calendars move the entry and add none.
    entry.add("uid", f"check-of-unit-{event.unit}@wastegate-register")
    entry.add("dtstamp", event.changed_at.replace(microsecond=0))
    entry.add("dtstart", event.on)
    entry.add("dtend", event.on + timedelta(days=1))
    entry.add("summary", f"Check {event.name}: {event.why}")
    entry.add("location", event.depot)
    when = (
        f"Planned for {day_text(event.on)}, due {day_text(event.due_on)}."
        if event.planned
        else "Not in the bay's plan yet."
    )
    entry.add("description", f"{event.sentence}\n{when}")
    entry.add("url", address(reverse("reports:unit", args=[event.unit])))
    entry.add("transp", "TRANSPARENT")
    return entry
