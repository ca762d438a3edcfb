"""What a depot's people should know in the morning."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet

from checks.models import Instrument, Standing
from checks.selectors.days import day_at
from checks.selectors.instrument import STATES, row_of
from fleet.models import Depot, Job, User
from reports.selectors.changes import found_outside
from reports.selectors.places import Place, name_of, places_of
from reports.words.recheck import why_in_short

MAIL = "morning-mail"
# A mail is read on the way to the bay; the pages have the rest.
LISTED = 12
# Calibrations that end within a month can still be sent off in time.
NEEDS_CARE = {"out_of_date", "no_certificate", "due_soon"}


@dataclass(frozen=True, slots=True)
class Line:
    """One unit or instrument: its key, what people call it, what there is to say."""

    pk: int
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Part:
    """One heading's lines; ``more`` are not listed."""

    title: str
    lines: list[Line]
    total: int

    @property
    def more(self) -> int:
        return self.total - len(self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Digest:
    """One depot's morning. ``leaving``: keys of all units about to leave their window, for the next mail to compare."""

    depot: Depot
    day: date
    today: Part
    overdue: Part
    outside: Part
    leaving_now: Part
    instruments: Part
    leaving: list[int]

    @property
    def units(self) -> list[Part]:
        """The parts about units that have something to say."""
        return [part for part in (self.today, self.overdue, self.outside, self.leaving_now) if part.total]

    @property
    def says_something(self) -> bool:
        return bool(self.units or self.instruments.total)


def digest_of(depot: Depot, *, now: datetime, since: datetime, known_leaving: Iterable[int]) -> Digest:
    """The morning of `depot`: what it does today, what is overdue, found outside since `since`, about to leave and not
    among `known_leaving`, and its instruments whose calibration ends. Eight queries.
    """
    day = day_at(depot, now)
    fitted = Standing.objects.filter(turbocharger__depot=depot, turbocharger__scrapped_on__isnull=True)
    leaving = list(fitted.filter(leaving=True).order_by("pk").values_list("turbocharger", flat=True))
    known = set(known_leaving)
    fresh = [pk for pk in leaving if pk not in known]
    return Digest(
        depot=depot,
        day=day,
        today=_units("Today in the bay", fitted.filter(turbocharger__bay_place__day=day)),
        overdue=_units("Overdue", fitted.filter(due_on__lt=day).exclude(turbocharger__bay_place__day=day)),
        outside=_units("Found outside since the last mail", _found_outside(fitted, depot, since)),
        leaving_now=_units("About to leave their window", fitted.filter(turbocharger__in=fresh)),
        instruments=_instruments(depot, day),
        leaving=leaving,
    )


def readers_of(depot: Depot) -> QuerySet[User]:
    """Members of `depot` who want the mail and can get it."""
    rows = User.objects.filter(memberships__depot=depot, morning_mail=True, is_active=True)
    return rows.exclude(email="").order_by("pk").distinct()


def depots_with_readers() -> QuerySet[Depot]:
    """Depots where anybody wants the mail."""
    wanted = Q(people__morning_mail=True, people__is_active=True) & ~Q(people__email="")
    return Depot.objects.filter(wanted).order_by("pk").distinct()


def mails_asked(keys: Iterable[str]) -> set[str]:
    """Which of the mails named by `keys` were asked for already. One query."""
    return set(Job.objects.filter(kind=MAIL, key__in=list(keys)).values_list("key", flat=True))


def last_mail(depot: Depot, *, before: int) -> tuple[datetime | None, list[int]]:
    """When the depot's last mail before job `before` was made, and which units were leaving then. One query."""
    rows = Job.objects.filter(kind=MAIL, arguments__depot=depot.pk, state=Job.State.DONE, pk__lt=before)
    job = rows.order_by("-pk").first()
    if job is None:
        return None, []
    return job.started_at, (job.result or {}).get("leaving", [])


def _found_outside(fitted: QuerySet[Standing], depot: Depot, since: datetime) -> QuerySet[Standing]:
    found = found_outside().filter(stroke__check_made__depot=depot, stroke__check_made__recorded_at__gte=since)
    return fitted.filter(turbocharger__in=found.values("stroke__check_made__turbocharger"))


def _units(title: str, rows: QuerySet[Standing]) -> Part:
    total = rows.count()
    shown = list(rows.select_related("turbocharger").order_by("due_on", "pk")[:LISTED]) if total else []
    places = places_of(row.turbocharger_id for row in shown) if shown else {}
    return Part(title, [_line(row, places.get(row.turbocharger_id)) for row in shown], total)


def _line(row: Standing, place: Place | None) -> Line:
    name = name_of(place, row.turbocharger.serial, side=True)
    due = f", due {row.due_on.day} {row.due_on:%b}" if row.due_on else ""
    why = why_in_short(row.binding_rule)
    return Line(row.turbocharger_id, name, f"{row.get_state_display()}; {why}{due}" if why else row.get_state_display())


def _instruments(depot: Depot, day: date) -> Part:
    held = Instrument.objects.filter(depot=depot, withdrawn_on__isnull=True).prefetch_related("certificates")
    rows = [row for one in held.order_by("label") if (row := row_of(one, day)).state in NEEDS_CARE]
    rows.sort(key=lambda row: (list(STATES).index(row.state), row.due_on or day))
    lines = [
        Line(row.instrument.pk, row.instrument.label, row.word + (f", {row.due_on:%-d %b %Y}" if row.due_on else ""))
        for row in rows[:LISTED]
    ]
    return Part("Instruments", lines, len(rows))
