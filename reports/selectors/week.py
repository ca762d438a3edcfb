"""A depot's week: its days with their room, and the checks that stack in them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from django.db.models import Max
from django.http import Http404
from django.utils import timezone

from checks.display import chance_text, day_text
from checks.models import BayPlace, Standing
from checks.rules.levelling import Shortage, shortages
from checks.selectors.bay import (
    PLAN_DAYS,
    Waiting,
    last_day,
    levelled_at,
    next_working_day,
    room_on,
    waiting_units,
    works_on,
)
from checks.selectors.days import day_at
from fleet.models import Depot, Membership, User
from fleet.selectors.scope import depots_of
from reports.selectors.units import UnitRow, unit_rows
from reports.words.grammar import capital, count_of, number
from reports.words.recheck import why_in_short

# A list of what found no day is for looking at; the board holds the rest.
UNPLACED_SHOWN = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A due check in the week.

    ``when``: its limit or due day; ``chance`` is empty without a forecast; ``earlier`` and ``later`` are the bay's
    next days to move it to, where there are any.
    """

    unit: UnitRow
    why: str
    when: str
    chance: str
    due_on: date
    limit_on: date | None
    day: date | None
    past_limit: bool
    moved_by: str = ""
    moved_reason: str = ""
    earlier: date | None = None
    later: date | None = None
    rank: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day of the bay, its checks in the order in which they matter."""

    on: date
    works: bool
    room: int
    cards: list[Card]

    @property
    def taken(self) -> int:
        return len(self.cards)

    @property
    def over(self) -> int:
        return max(0, self.taken - self.room)

    @property
    def filled(self) -> float:
        """Per cent of the room; a full bar where there is none."""
        return min(100.0, 100 * self.taken / self.room) if self.room else 100.0 * bool(self.taken)


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Everything the page shows. ``reasons`` say why checks found no day; ``fresh``: the plan is up to date."""

    depot: Depot
    depots: list[Depot]
    today: date
    days: list[Day]
    unplaced: list[Card]
    unplaced_total: int
    reasons: list[str]
    may_move: bool
    fresh: bool
    planned_total: int

    @property
    def first(self) -> date:
        return self.days[0].on

    @property
    def last(self) -> date:
        return self.days[-1].on

    @property
    def plan_ends(self) -> date:
        return last_day(self.today)

    @property
    def before(self) -> date | None:
        return max(self.today, self.first - timedelta(days=7)) if self.first > self.today else None

    @property
    def after(self) -> date | None:
        return self.first + timedelta(days=7) if self.last < self.plan_ends else None


def depot_by_code(user: User, code: str, *, role: str = Membership.Role.VIEWER) -> Depot:
    """A depot where `user` holds at least `role`; Http404 where there is none of this code. One query."""
    depot = depots_of(user, role=role).filter(code=code).first()
    if depot is None:
        raise Http404
    return depot


def week(*, user: User, depot: Depot, wanted: date | None = None) -> Week:
    """Seven days of a depot's plan from `wanted` on, within the plan; today without it. Fourteen queries at most."""
    today = day_at(depot, timezone.now())
    first = min(max(wanted or today, today), last_day(today) - timedelta(days=6))
    shown = [first + timedelta(days=days) for days in range(7)]
    waiting = {unit.turbocharger_id: unit for unit in waiting_units(depot, today)}
    rows = BayPlace.objects.filter(depot=depot, turbocharger__in=waiting).select_related("moved_by")
    places = {row.turbocharger_id: row for row in rows}
    unplaced = [pk for pk in waiting if pk not in places]
    wanted_pks = [pk for pk, row in places.items() if row.day in shown] + unplaced[:UNPLACED_SHOWN]
    units = unit_rows(wanted_pks, today=today, user=user)[0] if wanted_pks else []
    cards = [_card(unit, waiting[unit.pk], places.get(unit.pk), depot, today) for unit in units]
    cards.sort(key=lambda card: card.rank)
    fresh = _is_fresh(depot)
    return Week(
        depot=depot,
        depots=list(depots_of(user).order_by("name").distinct()),
        today=today,
        days=[
            Day(
                on=day,
                works=works_on(depot, day),
                room=room_on(depot, day),
                cards=[card for card in cards if card.day == day],
            )
            for day in shown
        ],
        unplaced=[card for card in cards if card.day is None],
        unplaced_total=len(unplaced),
        reasons=_reasons(depot, today, list(waiting.values()), places) if unplaced and fresh else [],
        may_move=depots_of(user, role=Membership.Role.MANAGER).filter(pk=depot.pk).exists(),
        fresh=fresh,
        planned_total=len(places),
    )


def _card(unit: UnitRow, waits: Waiting, place: BayPlace | None, depot: Depot, today: date) -> Card:
    limit, day = waits.limit_on, place.day if place else None
    card = Card(
        unit=unit,
        why=why_in_short(unit.rule.replace(" ", "_")),
        chance="" if waits.guessed else chance_text(waits.chance_now).replace(" %", "\u00a0%"),
        when=_when(waits, unit.rule, today),
        due_on=waits.due_on,
        limit_on=limit,
        day=day,
        past_limit=limit is not None and (day or today) > limit,
        rank=(limit is None, limit.toordinal() if limit else 0, -waits.chance_now, waits.due_on.toordinal(), unit.pk),
    )
    if place is None or day is None:
        return card
    before, after = next_working_day(depot, day, -1), next_working_day(depot, day)
    return replace(
        card,
        moved_by=place.moved_by.display_name if place.moved_by else "",
        moved_reason=place.moved_reason,
        earlier=before if before >= today else None,
        later=after if after <= last_day(today) else None,
    )


def _when(waits: Waiting, rule: str, today: date) -> str:
    on = waits.limit_on or waits.due_on
    year = "" if on.year == today.year else f" {on.year}"
    text = f"{'limit' if waits.limit_on else 'due'} {on.day} {on:%b}{year}"
    # What sets the limit may be another reason than the one that asked first.
    other = waits.limit_rule and waits.limit_rule.replace("_", " ") != rule
    return f"{text}: {why_in_short(waits.limit_rule)}" if other else text


def _is_fresh(depot: Depot) -> bool:
    """Whether the depot was levelled after its newest plan. Three queries."""
    levelled = levelled_at(depot)
    planned = Standing.objects.filter(turbocharger__depot=depot).aggregate(newest=Max("derived_at"))["newest"]
    return planned is None or (levelled is not None and levelled >= planned)


def _reasons(depot: Depot, today: date, waiting: Sequence[Waiting], places: dict[int, BayPlace]) -> list[str]:
    """Why checks found no day, from what must fall where and how much the bay holds."""
    held = {pk: (row.day - today).days for pk, row in places.items() if row.moved_by_id and row.day >= today}
    room = np.array([room_on(depot, today + timedelta(days=day)) for day in range(PLAN_DAYS)])
    left = np.maximum(room - np.bincount(list(held.values()) or [0], minlength=PLAN_DAYS) * bool(held), 0)
    loose = [unit for unit in waiting if unit.turbocharger_id not in held]
    last = [
        PLAN_DAYS - 1 if unit.limit_on is None or unit.lapsed(today) else (unit.limit_on - today).days for unit in loose
    ]
    day = np.array([0 if unit.turbocharger_id in places else -1 for unit in loose])
    found = shortages(np.zeros(len(loose), dtype=np.int64), np.array(last), left, day)
    return [_told(short, today) for short in found if short.wanted > short.room]


def _told(short: Shortage, today: date) -> str:
    first, last = today + timedelta(days=short.first), today + timedelta(days=short.last)
    when = f"by {day_text(last)}" if short.first == 0 else f"between {day_text(first)} and {day_text(last)}"
    wanted = capital(count_of(short.wanted, "check"))
    verb = "has" if short.wanted == 1 else "have"
    return f"{wanted} {verb} to be made {when}, and the bay has room for {number(short.room)}."
