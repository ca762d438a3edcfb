"""The list of units to see again, depot by depot."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, QuerySet

from fleet.models import Depot, Membership, Turbocharger, User
from fleet.selectors.scope import depots_of
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


def due_list(*, user: User, today: date, days: int, depot: int | None = None) -> DueList:
    """Units due within `days` from `today` at the depots of `user`. Eight queries."""
    depots = list(depots_of(user).order_by("name").distinct())
    own = set(depots_of(user, role=Membership.Role.TECHNICIAN).values_list("pk", flat=True))
    wanted = [row for row in depots if depot in (None, row.pk)]
    units = Turbocharger.objects.filter(
        depot__in=[row.pk for row in wanted],
        scrapped_on__isnull=True,
        standing__due_on__lte=today + timedelta(days=days),
    )
    due = dict(units.values_list("depot").annotate(Count("pk")))
    late = dict(units.filter(standing__due_on__lt=today).values_list("depot").annotate(Count("pk")))
    rows = _rows(units, today, user)
    lists = [
        DepotDue(
            depot=row,
            rows=[unit for unit in rows if unit.depot == row.name],
            overdue=late.get(row.pk, 0),
            due=due.get(row.pk, 0),
            may_check=row.pk in own,
        )
        for row in wanted
    ]
    return DueList(depots=depots, lists=lists, overdue=sum(late.values()), due=sum(due.values()))


def _rows(units: QuerySet[Turbocharger], today: date, user: User) -> list[UnitRow]:
    ordered = list(units.order_by("standing__due_on", "pk").values_list("pk", flat=True)[:LONGEST])
    return unit_rows(ordered, user=user, today=today)[0]
