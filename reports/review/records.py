"""The records that a review rests on, read once: units, checks with their verdicts, fittings, complaints.

A constant number of queries. Checks count by the calendar day at the depot where they were made; units count to the
depot where they stand when the review is run.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from checks.models import Amendment, Assessment, Check
from fleet.models import Complaint, Depot, Fitment, Installation, Turbocharger, TurbochargerModel, User
from reports.review.month import Month

# The review reads for the whole fleet or for one depot; who may open it is asked where it is opened.
READER = User(is_superuser=True)
# Rows between two signs of life.
CHUNK = 5000


@dataclass(frozen=True, slots=True)
class UnitRow:
    """A turbocharger of the depots reviewed."""

    pk: int
    serial: str
    model: str
    depot: str
    received_on: date
    scrapped_on: date | None

    def in_use(self, day: date) -> bool:
        """Whether it was on the register that evening."""
        return self.received_on <= day and (self.scrapped_on is None or self.scrapped_on > day)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one stroke said, as judged when the review is run."""

    state: str
    travel_mm: float | None
    expanded_mm: float | None


@dataclass(frozen=True, slots=True)
class CheckRow:
    """A check with the day at its depot. ``depot`` made it; ``unit`` may stand elsewhere by now."""

    pk: int
    unit: int
    fitment: int | None
    depot: int
    model: str
    day: date
    reason: str
    half_turns: int
    has_meter: bool
    instruments: tuple[int, ...]
    lower_mm: float
    upper_mm: float
    found: Verdict | None
    left: Verdict | None

    @property
    def shown(self) -> Verdict | None:
        """The verdict that tells the setting since."""
        return self.left or self.found

    @property
    def adjusted(self) -> bool:
        return self.left is not None or self.half_turns != 0


@dataclass(frozen=True, slots=True)
class Fitted:
    """A unit on an engine in a truck, for as long as all three belonged together; ``until`` is open or excluded."""

    fitment: int
    truck: int
    since: date
    until: date | None

    def holds(self, day: date) -> bool:
        return self.since <= day and (self.until is None or day < self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Records:
    """Everything up to the month's last day. ``checks_of``: a unit's checks in the order made."""

    month: Month
    depot: Depot | None
    depots: dict[int, str]
    models: tuple[str, ...]
    units: dict[int, UnitRow]
    checks: tuple[CheckRow, ...]
    checks_of: dict[int, list[CheckRow]]
    fitted: dict[int, list[Fitted]]
    fitments: dict[int, list[tuple[int, date, date | None]]]
    trucks: dict[int, str]
    complaints: dict[int, list[Complaint]]

    @property
    def depot_key(self) -> int | None:
        """The depot's primary key; None for the whole fleet."""
        return self.depot.pk if self.depot else None

    def last_check(self, unit: int, day: date) -> CheckRow | None:
        """The last check by the evening of `day`."""
        made = [check for check in self.checks_of.get(unit, ()) if check.day <= day]
        return made[-1] if made else None

    def place(self, unit: int, day: date) -> str:
        """Unit number of the truck that carried it, '' where none did."""
        return next((self.trucks.get(row.truck, "") for row in self.fitted.get(unit, ()) if row.holds(day)), "")

    def here(self, check: CheckRow) -> bool:
        """Whether it was made at a depot reviewed."""
        return self.depot is None or check.depot == self.depot.pk


def read_records(month: Month, depot: Depot | None, *, beat: Callable[[], object] = lambda: None) -> Records:
    """Read what a review of `month` needs; ten queries. `beat` is called now and then while it reads."""
    depots = {row.pk: row for row in Depot.objects.order_by("name")}
    units = _units(depot)
    checks = _checks(month, depot, depots, beat)
    checks_of: dict[int, list[CheckRow]] = defaultdict(list)
    for check in checks:
        checks_of[check.unit].append(check)
    fitments, fitted, trucks = _fittings(month, units)
    complaints: dict[int, list[Complaint]] = defaultdict(list)
    said = Complaint.objects.filter(raised_on__lte=month.last).select_related("truck__depot")
    for row in said.filter(**({"truck__depot": depot} if depot else {})).order_by("raised_on", "pk"):
        complaints[row.truck_id].append(row)
    return Records(
        month=month, depot=depot, depots={pk: row.name for pk, row in depots.items()},
        models=tuple(TurbochargerModel.objects.order_by("name").values_list("name", flat=True)),
        units=units, checks=tuple(checks), checks_of=dict(checks_of), fitted=fitted, fitments=fitments, trucks=trucks,
        complaints=dict(complaints),
    )  # fmt: skip


def _units(depot: Depot | None) -> dict[int, UnitRow]:
    rows = Turbocharger.objects.filter(**({"depot": depot} if depot else {})).order_by("serial")
    columns = ("pk", "serial", "model__name", "depot__name", "received_on", "scrapped_on")
    return {row[0]: UnitRow(*row) for row in rows.values_list(*columns)}


def _checks(month: Month, depot: Depot | None, depots: dict[int, Depot], beat: Callable[[], object]) -> list[CheckRow]:
    """In the order made. Of one depot: those made there, and those of its units made anywhere."""
    zones = {pk: ZoneInfo(row.time_zone) for pk, row in depots.items()}
    rows = Check.objects.all()
    judged = Assessment.objects.filter(is_current=True)
    if depot:
        ours = Check.objects.filter(turbocharger__depot=depot).order_by() | Check.objects.filter(depot=depot).order_by()
        rows, judged = ours, judged.filter(stroke__check_made__in=ours.values("pk"))
    verdicts: dict[int, dict[str, Verdict]] = defaultdict(dict)
    columns = ("stroke__check_made", "stroke__moment", "state", "travel_mm", "expanded_uncertainty_mm")
    for check, moment, *said in _told(judged.order_by().values_list(*columns), beat):
        verdicts[check][moment] = Verdict(*said)
    turns = _amended_turns()
    return [
        row
        for found in _told(rows.order_by("made_at", "pk").values_list(*COLUMNS), beat)
        if (row := _check(found, zones, verdicts, turns)).day <= month.last
    ]


def _told(rows: QuerySet, beat: Callable[[], object]) -> Iterator:
    for i, row in enumerate(rows.iterator(chunk_size=CHUNK)):
        if i % CHUNK == 0:
            beat()
        yield row


COLUMNS = (
    "pk", "turbocharger", "fitment", "depot", "turbocharger__model__name", "made_at", "reason", "half_turns",
    "odometer_km", "engine_hours", "dial", "stimulus_instrument", "meter", "regulator", "specification__lower_mm",
    "specification__upper_mm",
)  # fmt: skip


def _amended_turns() -> dict[int, int]:
    """Half turns of the checks where they were set right; the newest correction holds."""
    rows = Amendment.objects.filter(field="half_turns").order_by("made_at", "pk").values_list("check_made", "new_value")
    return {check: int(float(text)) if text else 0 for check, text in rows}


def _check(
    row: Sequence, zones: dict[int, ZoneInfo], verdicts: dict[int, dict[str, Verdict]], amended: dict[int, int]
) -> CheckRow:
    pk, unit, fitment, depot, model, made_at, reason, turns, km, hours, *tools, lower, upper = row
    at: datetime = made_at
    said = verdicts.get(pk, {})
    return CheckRow(
        pk=pk, unit=unit, fitment=fitment, depot=depot, model=model, day=at.astimezone(zones[depot]).date(),
        reason=reason, half_turns=amended.get(pk, turns or 0), has_meter=km is not None or hours is not None,
        instruments=tuple(tool for tool in tools if tool), lower_mm=lower, upper_mm=upper,
        found=said.get("as_found"), left=said.get("as_left"),
    )  # fmt: skip


def _fittings(month: Month, units: dict[int, UnitRow]) -> tuple[dict, dict, dict[int, str]]:
    """Fitments of each unit, the spells in which it sat in a truck, and trucks' unit numbers."""
    spells: dict[int, list[tuple[int, date, date | None]]] = defaultdict(list)
    trucks: dict[int, str] = {}
    columns = ("engine", "truck", "truck__unit_number", "installed_on", "removed_on")
    for engine, truck, name, since, until in Installation.objects.order_by("installed_on").values_list(*columns):
        spells[engine].append((truck, since, until))
        trucks[truck] = name
    fitments: dict[int, list[tuple[int, date, date | None]]] = defaultdict(list)
    fitted: dict[int, list[Fitted]] = defaultdict(list)
    rows = Fitment.objects.filter(fitted_on__lte=month.last).order_by("fitted_on", "pk")
    for pk, unit, engine, since, until in rows.values_list("pk", "turbocharger", "engine", "fitted_on", "removed_on"):
        if unit not in units:
            continue
        fitments[unit].append((pk, since, until))
        for truck, began, ended in spells.get(engine, ()):
            ends = min((day for day in (until, ended) if day), default=None)
            if ends is None or max(since, began) < ends:
                fitted[unit].append(Fitted(pk, truck, max(since, began), ends))
    return dict(fitments), dict(fitted), trucks
