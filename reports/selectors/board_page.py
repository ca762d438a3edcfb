"""One page of the board: which units, in which order."""

from typing import NamedTuple

from django.db import connection
from django.db.models import Case, F, FilteredRelation, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When

from fleet.models import Installation, Turbocharger
from reports.selectors.units import LEAVING, NEVER

PAGE_SIZE = 50
STATES = ("outside_high", "outside_low", "leaving", "undecided", "void", "never_checked", "inside", "overdue")
# Orders that walk an index: what they go by, and whether the greatest comes first.
INDEXED = {
    "due": ("standing__due_on", False),
    "chance": ("standing__p_outside_now", True),
    "fuel": ("fuel_loss__effect", True),
}
# What the index goes by among equals.
TIES = {"fuel": "fuel_loss__pk"}


class Sizes(NamedTuple):
    """How many units are asked for, and how many of them have what an index goes by."""

    shown: int
    keyed: int


def page_of(
    units: QuerySet[Turbocharger], *, allowed: list[int], state: str, sort: str, page: int, sizes: Sizes, late: Q
) -> list[int]:
    """Primary keys of one page of units in a state, in order; `late` is who is overdue.

    One query; one more where the units in trucks end.
    """
    start, end = (page - 1) * PAGE_SIZE, page * PAGE_SIZE
    units = _in_state(units, state, late)
    if sort == "unit" and end <= sizes.shown:
        found = list(_by_truck(_at(units, allowed)).values_list("pk", flat=True)[start:end])
        if len(found) == PAGE_SIZE:  # else the last units in trucks stand here, and those in none come after them
            return found
    if sort not in INDEXED:
        ordered = units.filter(depot__in=allowed).order_by(*_order(sort), "pk")
    elif end <= sizes.keyed:
        key, falling = INDEXED[sort]
        walked = _at(units, allowed).filter(**{f"{key}__isnull": False})
        ordered = walked.order_by(f"-{key}" if falling else key, TIES.get(sort, "standing__pk"))
    else:
        # Only the last pages hold units without a date or a chance, behind all others; those are sorted whole.
        key, falling = INDEXED[sort]
        first = F(key).desc(nulls_last=True) if falling else F(key).asc(nulls_last=True)
        ordered = units.filter(depot__in=allowed).order_by(first, "standing__pk", "pk")
    return list(ordered.values_list("pk", flat=True)[start:end])


def _at(units: QuerySet[Turbocharger], depots: list[int]) -> QuerySet[Turbocharger]:
    """Units at depots, for an order that an index has.

    An expression keeps SQLite from collecting whole depots and sorting them: it walks the index. PostgreSQL knows from
    its statistics which is less work, and knows nothing of an expression.
    """
    if connection.vendor == "postgresql":
        return units.filter(depot__in=depots)
    return units.annotate(home=F("depot") + 0).filter(home__in=depots)


def _by_truck(units: QuerySet[Turbocharger]) -> QuerySet[Turbocharger]:
    """Those in a truck, by its unit number. A unit in none comes after all of them, whatever truck is asked for."""
    held = FilteredRelation("fitments", condition=Q(fitments__removed_on__isnull=True))
    path = "held__engine__installations"
    now = FilteredRelation(path, condition=Q(**{f"{path}__removed_on__isnull": True}))
    found = units.annotate(held=held).annotate(now=now).filter(now__truck__isnull=False)
    return found.order_by("now__truck__unit_number", "serial", "pk")


def _in_state(units: QuerySet[Turbocharger], state: str, late: Q) -> QuerySet[Turbocharger]:
    if state == "overdue":
        return units.filter(late)
    if state == LEAVING:
        return units.filter(standing__leaving=True)
    if state == NEVER:
        return units.filter(Q(standing__state=NEVER, standing__leaving=False) | Q(standing__isnull=True))
    return units.filter(standing__state=state, standing__leaving=False) if state else units


def _order(sort: str) -> list:
    if sort == "unit":
        in_truck = Installation.objects.filter(
            removed_on__isnull=True, engine__fitments__turbocharger=OuterRef("pk"),
            engine__fitments__removed_on__isnull=True,
        )  # fmt: skip
        return [Subquery(in_truck.values("truck__unit_number")[:1]).asc(nulls_last=True), "serial"]
    if sort == "state":
        ranks = [When(standing__leaving=True, then=Value(STATES.index(LEAVING)))]
        ranks += [When(standing__state=state, then=Value(i)) for i, state in enumerate(STATES)]
        ranked = Case(*ranks, default=Value(STATES.index(NEVER)), output_field=IntegerField())
        return [ranked, F("standing__due_on").asc(nulls_last=True)]
    if sort == "checked":
        return [F("standing__last_check__made_at").desc(nulls_last=True)]
    raise ValueError(sort)
