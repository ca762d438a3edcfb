"""Due checks as a calendar shows them."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import F
from django.db.models.functions import Coalesce
from django.utils import timezone

from checks.models import Standing
from fleet.models import User
from fleet.selectors.scope import visible_to
from reports.selectors.places import name_of, places_of
from reports.selectors.units import binding_sentence
from reports.words.recheck import why_in_short

AHEAD = timedelta(days=90)
# What a calendar program still takes in good time; a larger fleet is read on the board.
LONGEST = 2000
COLUMNS = (
    "turbocharger",
    "turbocharger__serial",
    "turbocharger__depot__name",
    "due_on",
    "day",
    "binding_rule",
    "rules",
    "sentence",
    "derived_at",
    "planned_at",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """A check to make. ``on``: its day in the bay, else the day it is due."""

    unit: int
    name: str
    depot: str
    on: date
    planned: bool
    due_on: date
    why: str
    sentence: str
    changed_at: datetime


def due_events(user: User) -> list[Event]:
    """Checks due within 90 days at the depots of `user`, by day. Two queries."""
    rows = Standing.objects.filter(
        due_on__lte=timezone.localdate() + AHEAD, turbocharger__scrapped_on__isnull=True
    ).annotate(day=F("turbocharger__bay_place__day"), planned_at=F("turbocharger__bay_place__made_at"))
    found = list(
        visible_to(user, rows, depot="turbocharger__depot")
        .order_by(Coalesce("day", "due_on"), "turbocharger")
        .values(*COLUMNS)[:LONGEST]
    )
    places = places_of(row["turbocharger"] for row in found)
    return [
        Event(
            unit=row["turbocharger"],
            name=name_of(places.get(row["turbocharger"]), row["turbocharger__serial"], side=True),
            depot=row["turbocharger__depot__name"],
            on=row["day"] or row["due_on"],
            planned=row["day"] is not None,
            due_on=row["due_on"],
            why=why_in_short(row["binding_rule"]),
            sentence=binding_sentence(row["rules"], row["sentence"], user.distance_unit),
            changed_at=max(row["derived_at"], row["planned_at"] or row["derived_at"]),
        )
        for row in found
    ]
