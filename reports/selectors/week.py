"""A depot's week: its days with their room, and the checks that stack in them."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import Max
from django.http import Http404
from django.utils import timezone

from checks.display import chance_text
from checks.models import BayPlace, Standing
from checks.selectors.bay import Waiting, last_day, levelled_at, next_working_day, room_on, waiting_units, works_on
from checks.selectors.days import day_at
from fleet.models import Depot, Membership, User
from fleet.selectors.scope import depots_of
from reports.selectors.depots import depots_by_name
from reports.selectors.units import UnitRow, unit_rows
from reports.selectors.unplaced import why_unplaced
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
        depots=depots_by_name(user),
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
        reasons=why_unplaced(depot, today, list(waiting.values()), places) if unplaced and fresh else [],
        may_move=depots_of(user, role=Membership.Role.MANAGER).filter(pk=depot.pk).exists(),
        fresh=fresh,
        planned_total=len(places),
    )


def _card(unit: UnitRow, waits: Waiting, place: BayPlace | None, depot: Depot, today: date) -> Card:
    limit, day = waits.limit_on, place.day if place else None
    card = Card(
        unit=unit,
        why=why_in_short(unit.binding_rule),
        chance="" if waits.guessed else chance_text(waits.chance_now).replace(" %", "\u00a0%"),
        when=_when(waits, unit.binding_rule, today),
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
    other = waits.limit_rule and waits.limit_rule != rule
    return f"{text}: {why_in_short(waits.limit_rule)}" if other else text


def _is_fresh(depot: Depot) -> bool:
    """Whether the depot was levelled after its newest plan. Three queries."""
    levelled = levelled_at(depot)
    planned = Standing.objects.filter(turbocharger__depot=depot).aggregate(newest=Max("derived_at"))["newest"]
    return planned is None or (levelled is not None and levelled >= planned)
