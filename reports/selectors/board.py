"""The fleet board: which units, how many in each state, what changed."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django.db.models import Count, Exists, Q, QuerySet, Subquery

from checks.models import Policy
from checks.selectors.days import days_at, due_before
from fleet.models import Demonstration, Depot, Fitment, Installation, Turbocharger, TurbochargerModel, User
from reports.selectors.board_page import INDEXED, PAGE_SIZE, STATES, Sizes, page_of
from reports.selectors.changes import Change, changes_since, week_before
from reports.selectors.depots import depots_and_work
from reports.selectors.jumped import Jumped, jumped_units
from reports.selectors.places import Place
from reports.selectors.units import LEAVING, NEVER, UnitRow, unit_rows
from reports.words.drift import PER

SORTS = {
    "due": "see again",
    "chance": "chance outside now",
    "fuel": "fuel lost now",
    "unit": "unit",
    "state": "state",
    "checked": "last check",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the viewer asked the board for; unknown values are as if not given."""

    depot: int | None = None
    model: int | None = None
    state: str = ""
    find: str = ""
    sort: str = "due"
    page: int = 1

    def address(self, **changes: object) -> str:
        """The query part of this board's address with some parts changed; page 1 unless it is given."""
        wanted = replace(self, **{"page": 1, **changes})  # type: ignore[arg-type]
        parts = {
            "depot": wanted.depot,
            "model": wanted.model,
            "state": wanted.state,
            "find": wanted.find,
            "sort": "" if wanted.sort == "due" else wanted.sort,
            "page": "" if wanted.page == 1 else wanted.page,
        }
        return "?" + urlencode({name: value for name, value in parts.items() if value})


@dataclass(frozen=True, slots=True)
class StateCount:
    """How many of the units asked for are in a state; the address that shows them."""

    state: str
    count: int
    address: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Everything the page shows."""

    rows: list[UnitRow]
    counts: list[StateCount]
    total: int
    overdue: int
    leaving: int
    today: date
    horizon: date
    per: str
    jumped: list[Jumped]
    shown_total: int
    pages: int
    changes: list[Change]
    places: dict[int, Place]
    depots: list[Depot]
    works: frozenset[str]
    models: list[TurbochargerModel]
    invented: bool


def board(*, user: User, wanted: Wanted, today: date | None = None) -> Board:
    """The board as `user` may see it, each depot on its own day, or all on `today`.

    Ten queries, whatever the size of the fleet.
    """
    depots, works = depots_and_work(user)
    models, policy, invented = _models_policy_and_mark()
    allowed = [depot.pk for depot in depots if wanted.depot in (None, depot.pk)]
    days = days_at((depot for depot in depots if depot.pk in allowed), today)
    late, day = due_before(days), max(days)
    key, _ = INDEXED.get(wanted.sort, INDEXED["due"])
    tally = _counted(_units(wanted).filter(depot__in=allowed), late, key)
    shown_total = tally.counts.get(wanted.state, 0) if wanted.state else tally.total
    pages = max(1, -(-shown_total // PAGE_SIZE))
    changes = changes_since(week_before(day), depots=allowed, model=wanted.model)
    rows, places = unit_rows(
        page_of(
            _units(wanted),
            allowed=allowed,
            state=wanted.state,
            sort=wanted.sort,
            page=min(wanted.page, pages),
            sizes=Sizes(shown_total, tally.keyed.get(wanted.state, 0)),
            late=late,
        ),
        user=user,
        today=today,
        also_place=[change.turbocharger for change in changes],
    )
    return Board(
        rows=rows,
        counts=_state_counts(tally.counts, wanted),
        total=tally.total,
        overdue=tally.counts["overdue"],
        leaving=tally.counts[LEAVING],
        today=day,
        horizon=day + timedelta(days=policy.horizon_days),
        per=PER[policy.usage_basis],
        jumped=jumped_units(allowed, wanted.model),
        shown_total=shown_total,
        pages=pages,
        changes=changes,
        places=places,
        depots=depots,
        works=works,
        models=models,
        invented=invented,
    )


def _models_policy_and_mark() -> tuple[list[TurbochargerModel], Policy, bool]:
    """All models, what the board needs of the policy, and whether the fleet is invented, in one query.

    The policy's defaults while there is none.
    """
    held = Policy.objects.filter(pk=1)
    models: list[Any] = list(
        TurbochargerModel.objects.order_by("name").annotate(
            horizon=Subquery(held.values("horizon_days")[:1]),
            basis=Subquery(held.values("usage_basis")[:1]),
            invented=Exists(Demonstration.objects.all()),
        )
    )
    policy = Policy(pk=1)
    for model in models[:1]:
        policy.horizon_days = model.horizon or policy.horizon_days
        policy.usage_basis = model.basis or policy.usage_basis
    return models, policy, bool(models and models[0].invented)


@dataclass(frozen=True, slots=True)
class _Tally:
    """Units by state, 'overdue' among them; how many of each have what they are sorted by; how many units there are.

    A unit that is leaving counts as that alone, so that all states but 'overdue' add up to the total.
    """

    counts: dict[str, int]
    keyed: dict[str, int]
    total: int


def _counted(units: QuerySet[Turbocharger], late: Q, key: str) -> _Tally:
    rows = (
        units.order_by()
        .values_list("standing__state", "standing__leaving")
        .annotate(
            count=Count("pk"),
            keyed=Count(key),
            late=Count("pk", filter=late),
            late_keyed=Count(key, filter=late),
        )
    )
    counts, keyed = {"overdue": 0, LEAVING: 0}, {"overdue": 0, "": 0}
    for state, leaves, count, with_key, overdue, overdue_with_key in rows:
        name = LEAVING if leaves else state or NEVER
        counts[name] = counts.get(name, 0) + count
        keyed[name] = keyed.get(name, 0) + with_key
        keyed[""] += with_key
        counts["overdue"] += overdue
        keyed["overdue"] += overdue_with_key
    return _Tally(counts, keyed, sum(counts.values()) - counts["overdue"])


def _units(wanted: Wanted) -> QuerySet[Turbocharger]:
    """Units in use that answer everything asked but depot and state."""
    units = Turbocharger.objects.filter(scrapped_on__isnull=True)
    if wanted.model:
        units = units.filter(model=wanted.model)
    if wanted.find:
        in_trucks = Installation.objects.filter(
            truck__unit_number__icontains=wanted.find, removed_on__isnull=True
        ).values("engine")
        fitted = Fitment.objects.filter(removed_on__isnull=True, engine__in=in_trucks).values("turbocharger")
        units = units.filter(Q(pk__in=fitted) | Q(serial__icontains=wanted.find))
    return units


def _state_counts(counts: dict[str, int], wanted: Wanted) -> list[StateCount]:
    return [
        StateCount(
            state,
            counts.get(state, 0),
            wanted.address(state="" if wanted.state == state else state),
            wanted.state == state,
        )
        for state in STATES
    ]
