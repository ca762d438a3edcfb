"""How far engines had run at any moment, from the meters of the trucks in which they ran."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from math import inf

from django.db.models import QuerySet
from django.utils import timezone

from checks.models.forecast import Basis
from checks.rules.epochs import SCALE_HOURS, SCALE_KM
from checks.rules.meters import EMPTY, Line, joined, line_of
from checks.rules.recheck.rate import LEAST_KM_PER_DAY, use_of
from checks.rules.recheck.unit import Use
from fleet.models import Fitment, Installation, MeterReading

SCALES = {Basis.KM: SCALE_KM, Basis.HOURS: SCALE_HOURS}
COLUMNS = {Basis.KM: "odometer_km", Basis.HOURS: "engine_hours"}
# A meter typed a little below that of the fitting is a matter of reading it; more than this share of a scaled usage is
# a wrong meter.
BACKWARD_SHARE = 0.002
EPOCH = date(1970, 1, 1).toordinal()
# A reading of the truck: moment in days, meter, first of a new meter.
Read = tuple[float, float, bool]


@dataclass(frozen=True, slots=True)
class Seat:
    """A stay of an engine in a truck, in days; ``end`` is inf while it lasts."""

    truck: int
    begin: float
    end: float


@dataclass(frozen=True, slots=True)
class Engines:
    """Lines of usage by engine, and each engine's present rate of use."""

    lines: dict[int, Line]
    uses: dict[int, Use]
    unread: Use

    def line(self, engine: int) -> Line:
        return self.lines.get(engine, EMPTY)

    def use(self, engine: int) -> Use:
        return self.uses.get(engine, self.unread)


def moment(at: datetime) -> float:
    """Days since 1970."""
    return at.timestamp() / 86_400.0


def noon(day: date) -> float:
    """The middle of a day of which no hour is known."""
    return day.toordinal() - EPOCH + 0.5


def fallback_of(basis: str, km_per_day: float) -> float:
    """The policy's rate of use in the basis' unit; 2,000 h are counted as 100,000 km."""
    return km_per_day if basis == Basis.KM else km_per_day * SCALE_HOURS / SCALE_KM


def engines_of(
    fitments: QuerySet[Fitment],
    read_at_checks: Iterable[tuple[int, float, float]],
    *,
    basis: str,
    fallback: float,
) -> Engines:
    """Lines and rates of the engines of ``fitments``; two queries beside that of the fitments.

    Parameters
    ----------
    read_at_checks : (engine, moment, meter) of checks as amended: they hold against the truck's own rows
    fallback : rate of use in the basis' unit where a truck's own is unknown
    """
    seats: dict[int, list[Seat]] = defaultdict(list)
    # Subqueries rather than lists: a model may have more units than a statement may have parameters.
    stays = Installation.objects.filter(engine__in=fitments.order_by().values("engine"))
    for engine, truck, begin, end in stays.order_by("installed_on", "pk").values_list(
        "engine", "truck", "installed_on", "removed_on"
    ):
        seats[engine].append(Seat(truck, noon(begin) - 0.5, noon(end) if end else inf))
    read, recent = _readings(stays, COLUMNS[Basis(basis)])
    for engine, at, meter in [*_at_fittings(fitments, basis), *read_at_checks]:
        for seat in seats.get(engine, ()):
            if seat.begin <= at <= seat.end:
                read[seat.truck].append((at, meter, False))
    lines = {truck: line_of(rows) for truck, rows in read.items()}
    least = fallback_of(basis, LEAST_KM_PER_DAY)
    uses = {truck: use_of(rows, fallback_km_per_day=fallback, least=least) for truck, rows in recent.items() if rows}
    return Engines(
        lines={
            engine: joined([(lines.get(seat.truck, EMPTY), seat.begin, seat.end) for seat in stays_of])
            for engine, stays_of in seats.items()
        },
        uses={
            engine: uses[stays_of[-1].truck]
            for engine, stays_of in seats.items()
            if stays_of[-1].end == inf and stays_of[-1].truck in uses
        },
        unread=Use(km_per_day=fallback, source="fleet"),
    )


def _readings(
    stays: QuerySet[Installation], column: str
) -> tuple[dict[int, list[Read]], dict[int, list[tuple[date, float]]]]:
    """Per truck all its readings, and those since its last new meter by day."""
    read: dict[int, list[Read]] = defaultdict(list)
    recent: dict[int, list[tuple[date, float]]] = defaultdict(list)
    rows = MeterReading.objects.filter(truck__in=stays.values("truck"), **{f"{column}__isnull": False}).order_by(
        "read_at"
    )
    for truck, at, value, replaced in rows.values_list("truck", "read_at", column, "replaced_meter"):
        if replaced and recent[truck] and value < recent[truck][-1][1]:
            recent[truck] = []
        read[truck].append((moment(at), value, replaced))
        recent[truck].append((timezone.localtime(at).date(), value))
    return read, recent


def _at_fittings(fitments: Iterable[Fitment], basis: str) -> list[tuple[int, float, float]]:
    column = COLUMNS[Basis(basis)]
    ends = ((f"fitted_{column}", "fitted_on"), (f"removed_{column}", "removed_on"))
    return [
        (row.engine_id, noon(getattr(row, day)), getattr(row, meter))
        for row in fitments
        for meter, day in ends
        if getattr(row, meter) is not None and getattr(row, day) is not None
    ]
