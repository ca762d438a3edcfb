"""The list of units to see again, depot by depot."""

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Count, Q, QuerySet

from checks.selectors.days import days_at, due_before
from fleet.models import Depot, Membership, Turbocharger, User
from fleet.selectors.scope import depots_of
from reports.selectors.depots import depots_by_name
from reports.selectors.units import UnitRow, unit_rows

HORIZONS = {14: "two weeks", 30: "30 days", 90: "90 days", 365: "a year"}
# A sheet is carried into the bay; a longer list is planned in the office, page by page on the board.
LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class DepotDue:
    """Units of one depot, those overdue first, then by date; ``more`` are due but not listed."""

    depot: Depot
    rows: list[UnitRow]
    overdue: int
    due: int
    unplanned: int
    may_check: bool

    @property
    def more(self) -> int:
        return self.due - len(self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class DueList:
    """Everything the page shows."""

    depots: list[Depot]
    lists: list[DepotDue]
    overdue: int
    due: int
    unplanned: int


class Counts(NamedTuple):
    """How many units of a depot are due, how many of them overdue, and how many have no plan yet."""

    due: int = 0
    overdue: int = 0
    unplanned: int = 0


def due_list(*, user: User, days: int, depot: int | None = None, today: date | None = None) -> DueList:
    """Units due within `days` at the depots of `user`, from the day that it is at each, or from `today`.

    Seven queries.
    """
    depots = depots_by_name(user)
    own = set(depots_of(user, role=Membership.Role.TECHNICIAN).values_list("pk", flat=True))
    wanted = [row for row in depots if depot in (None, row.pk)]
    on = days_at(wanted, today)
    at_hand = Turbocharger.objects.filter(depot__in=[row.pk for row in wanted], scrapped_on__isnull=True)
    units = at_hand.filter(due_before(on, days + 1))
    counted = (
        at_hand.order_by()
        .values_list("depot")
        .annotate(
            due=Count("pk", filter=due_before(on, days + 1)),
            overdue=Count("pk", filter=due_before(on)),
            unplanned=Count("pk", filter=Q(standing__isnull=True)),
        )
    )
    counts = {pk: Counts(*each) for pk, *each in counted}
    rows = _rows(units, today, user)
    lists = [
        DepotDue(
            depot=row,
            rows=[unit for unit in rows if unit.depot == row.name],
            **counts.get(row.pk, Counts())._asdict(),
            may_check=row.pk in own,
        )
        for row in wanted
    ]
    sums = {name: sum(getattr(one, name) for one in counts.values()) for name in Counts._fields}
    return DueList(depots=depots, lists=lists, **sums)


def _rows(units: QuerySet[Turbocharger], today: date | None, user: User) -> list[UnitRow]:
    ordered = list(units.order_by("standing__due_on", "pk").values_list("pk", flat=True)[:LONGEST])
    return unit_rows(ordered, user=user, today=today)[0]
