"""Place due checks into a depot's days, and move them by hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from django.db import transaction
from django.utils import timezone

from checks.models import BayPlace, Check
from checks.rules.levelling import added_days_outside, level
from checks.selectors.bay import (
    LEVEL,
    PLAN_DAYS,
    Waiting,
    last_day,
    last_levelled,
    last_planned,
    level_key,
    limit_of,
    places_of_depot,
    room_on,
    waiting_units,
    works_on,
)
from checks.selectors.days import day_at
from fleet.jobs.requests import enqueue
from fleet.models import Depot, Job, Membership, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.saving import save_checked

# A burst of checks becomes one levelling.
BURST_S = 5
# More cannot be placed within a plan by any bay we know of, and the solver's time grows with the number.
MOST = 1200
# A due date that passed unseen always costs a little, however safe the forecast.
LEAST_CHANCE = 0.001
# A limit that passed presses about as much as a unit known to be outside, and of two such the likelier one more.
LAPSED_CHANCE = 0.9
PLACED = ["depot", "day", "due_on", "latest_on", "added_risk", "moved_by", "moved_reason", "made_at"]


@dataclass(frozen=True, slots=True)
class Levelled:
    """What a levelling did: checks with a day, and checks for which there was none."""

    placed: int
    unplaced: int


@transaction.atomic
def level_depot(*, depot: Depot, now: datetime | None = None) -> Levelled:
    """Give every check that is due within six weeks its day, at the least added risk; days chosen by hand stay.

    A limit that has passed cannot be kept any more: such a unit counts as almost certainly outside until it is seen.
    """
    depot = Depot.objects.select_for_update().get(pk=depot.pk)
    today = day_at(depot, now or timezone.now())
    units = waiting_units(depot, today)
    places = places_of_depot(depot)
    kept = _kept_by_hand(places, {unit.turbocharger_id for unit in units}, today)
    asked = sorted(units, key=lambda unit: unit.turbocharger_id not in kept)[: max(MOST, len(kept))]
    days = _days(depot, asked, kept, today)
    rows = [_place(depot, unit, day, kept, today) for unit, day in zip(asked, days, strict=True) if day]
    stale = set(places) - {row.turbocharger_id for row in rows}
    BayPlace.objects.filter(depot=depot, turbocharger__in=stale).delete()
    _write([row for row in rows if row.pk is None], [row for row in rows if row.pk is not None])
    return Levelled(len(rows), len(units) - len(rows))


@transaction.atomic
def move_check(*, user: User, turbocharger: Turbocharger, day: date, reason: str = "") -> BayPlace:
    """Put a due check on a day of a person's choice; levelling keeps it there. Past its limit it needs a reason."""
    depot = turbocharger.depot
    require(user, Membership.Role.MANAGER, depot)
    today, reason = day_at(depot, timezone.now()), reason.strip()
    if not today <= day <= last_day(today):
        raise FleetError(
            "day_outside_plan",
            "day",
            f"The plan runs from {today:%-d %b %Y} to {last_day(today):%-d %b %Y}: choose a day within it.",
        )
    if not works_on(depot, day):
        raise FleetError("bay_closed", "day", f"The bay does not work on a {day:%A}. Choose one of its working days.")
    standing = getattr(turbocharger, "standing", None)
    if standing is None or standing.due_on is None or standing.due_on > last_day(today):
        raise FleetError(
            "not_due", "", f"{turbocharger} is not due before {last_day(today)}; there is nothing to move."
        )
    limit = limit_of(standing.rules)
    if limit is not None and day > max(limit, today) and not reason:
        raise FleetError("reason_needed", "reason", f"This lies past the limit of {limit}. Say why it may wait.")
    place = BayPlace.objects.filter(turbocharger=turbocharger).first() or BayPlace(turbocharger=turbocharger)
    place.depot, place.day, place.due_on, place.latest_on = depot, day, standing.due_on, limit
    place.moved_by, place.moved_reason = user, reason
    save_checked(place, user=user)
    level_soon(depot=depot, user=user)
    return place


@transaction.atomic
def undo_move(*, user: User, turbocharger: Turbocharger) -> Levelled:
    """Give a moved check back to the plan, which finds its day anew."""
    require(user, Membership.Role.MANAGER, turbocharger.depot)
    BayPlace.objects.filter(turbocharger=turbocharger, moved_by__isnull=False).delete()
    return level_depot(depot=turbocharger.depot)


def level_now(*, user: User, depot: Depot) -> Levelled:
    """Level a depot while a person waits for it."""
    require(user, Membership.Role.MANAGER, depot)
    return level_depot(depot=depot)


def level_soon(*, depot: Depot, user: User | None = None) -> Job:
    """Ask for a depot's levelling once the present burst is over."""
    return enqueue(
        kind=LEVEL, arguments={"depot": depot.pk}, key=level_key(depot.pk), requested_by=user, delay_s=BURST_S
    )


def level_stale() -> int:
    """Ask for the levelling of every depot whose plans or whose day moved on since; returns how many. Three queries
    where there is nothing to do.
    """
    asked, planned, now = last_levelled(), last_planned(), timezone.now()
    stale = []
    for depot in Depot.objects.order_by("pk"):
        since = asked.get(level_key(depot.pk))
        newer = planned.get(depot.pk)
        if newer and (since is None or newer > since or day_at(depot, since) < day_at(depot, now)):
            stale.append(depot)
    for depot in stale:
        level_soon(depot=depot)
    return len(stale)


def _kept_by_hand(places: dict[int, BayPlace], due: set[int], today: date) -> dict[int, BayPlace]:
    """Places that a person chose and that still mean something: due, not past, and not seen since."""
    moved = {pk: row for pk, row in places.items() if row.moved_by_id and pk in due and row.day >= today}
    recorded = Check.objects.filter(turbocharger__in=moved).values_list("turbocharger", "recorded_at")
    seen = {pk for pk, at in recorded if at > moved[pk].made_at}
    return {pk: row for pk, row in moved.items() if pk not in seen}


def _days(depot: Depot, units: Sequence[Waiting], kept: dict[int, BayPlace], today: date) -> list[date | None]:
    """Day per unit, None where none was left."""
    plan = [today + timedelta(days=days) for days in range(PLAN_DAYS)]
    if not units:
        return []
    found = level(
        earliest=np.zeros(len(units)),
        due=[(unit.due_on - today).days for unit in units],
        hard=[_hard(unit, today) for unit in units],
        p_outside=np.array([_pressing(unit, today) for unit in units]),
        capacity=[room_on(depot, day) for day in plan],
        fixed=[(kept[pk].day - today).days if (pk := unit.turbocharger_id) in kept else -1 for unit in units],
    )
    return [plan[day] if day >= 0 else None for day in found]


def _pressing(unit: Waiting, today: date) -> np.ndarray:
    chance = _chances(unit)
    return LAPSED_CHANCE + (1 - LAPSED_CHANCE) * chance if unit.lapsed(today) else np.maximum(chance, LEAST_CHANCE)


def _added_risk(unit: Waiting, day: date, today: date) -> float:
    """Days that the unit is expected to run outside its window from the day it was due until its day in the bay."""
    due = np.array([(unit.due_on - today).days])
    return float(added_days_outside(due, _chances(unit)[None])[0, (day - today).days])


def _chances(unit: Waiting) -> np.ndarray:
    share = np.minimum(np.arange(PLAN_DAYS) / max(unit.later_days, 1), 1.0)
    return np.clip(unit.chance_now + share * (unit.chance_later - unit.chance_now), 0.0, 1.0)


def _hard(unit: Waiting, today: date) -> int:
    return PLAN_DAYS if unit.limit_on is None or unit.lapsed(today) else (unit.limit_on - today).days


def _place(depot: Depot, unit: Waiting, day: date, kept: dict[int, BayPlace], today: date) -> BayPlace:
    place = kept.get(unit.turbocharger_id) or BayPlace(turbocharger_id=unit.turbocharger_id, depot=depot, day=day)
    place.due_on, place.added_risk = unit.due_on, _added_risk(unit, place.day, today)
    place.latest_on = None if unit.lapsed(today) else unit.limit_on
    return place


def _write(fresh: list[BayPlace], kept: list[BayPlace]) -> None:
    BayPlace.objects.bulk_create(
        fresh, update_conflicts=True, unique_fields=["turbocharger"], update_fields=PLACED, batch_size=500
    )
    # Without made_at, which tells when the person moved it.
    BayPlace.objects.bulk_update(kept, ["due_on", "latest_on", "added_risk"], batch_size=500)
