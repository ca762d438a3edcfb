"""What waits for a depot's bay: due units with their limits and chances, and the room of its days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import F, Max

from checks.models import BayPlace, Policy, Standing
from checks.selectors.policy import current_policy
from fleet.models import Depot, Job, Turbocharger

LEVEL = "level-depot"
# Six weeks: as far as a workshop plans by the day.
PLAN_DAYS = 42
# Reasons that do not wait for room: their day is a limit. All others are a day on which a look pays best.
LIMITING = frozenset({"outside_left", "void", "undecided", "open_complaint", "instrument_recall"})
OUTSIDE = frozenset({Standing.State.OUTSIDE_LOW, Standing.State.OUTSIDE_HIGH})


@dataclass(frozen=True, slots=True)
class Waiting:
    """A unit that is due within the plan.

    ``limit_on`` is the earliest day that a limiting rule, ``limit_rule``, names; None without one. ``chance_now`` and
    ``chance_later``: of being outside today and ``later_days`` on; ``guessed`` where there is no forecast.
    """

    turbocharger_id: int
    due_on: date
    limit_on: date | None
    chance_now: float
    chance_later: float
    later_days: int
    guessed: bool = False
    limit_rule: str = ""

    def lapsed(self, today: date) -> bool:
        """Whether its limit has passed: it is then seen as soon as there is room."""
        return self.limit_on is not None and self.limit_on < today


def last_day(first: date) -> date:
    """The last day of a plan that begins on `first`."""
    return first + timedelta(days=PLAN_DAYS - 1)


def works_on(depot: Depot, day: date) -> bool:
    """Whether the depot's bay works on `day`."""
    return str(day.isoweekday()) in depot.working_days


def room_on(depot: Depot, day: date) -> int:
    """How many checks the bay can make on `day`."""
    return depot.checks_per_day if works_on(depot, day) else 0


def next_working_day(depot: Depot, day: date, step: int = 1) -> date:
    """The working day after (or with a `step` of -1 before) `day`."""
    return next(on for days in range(1, 8) if works_on(depot, on := day + timedelta(days=step * days)))


def limit_of(rules: Sequence[dict[str, Any]] | None) -> date | None:
    """The earliest day that a limiting rule among a standing's rules names."""
    return _limit(rules)[0]


def _limit(rules: Sequence[dict[str, Any]] | None) -> tuple[date | None, str]:
    days = ((date.fromisoformat(row["on"]), row["rule"]) for row in rules or () if row["rule"] in LIMITING)
    return min(days, default=(None, ""))


def waiting_units(depot: Depot, first: date) -> list[Waiting]:
    """Units of `depot` that are due until the end of the plan, the most pressing first. Two queries.

    Without a forecast a unit counts as outside where it was left so, and else at the policy's level of risk.
    """
    policy = current_policy()
    rows = (
        Turbocharger.objects.filter(depot=depot, scrapped_on__isnull=True, standing__due_on__lte=last_day(first))
        .order_by("standing__due_on", "pk")
        .values_list(
            "pk",
            "standing__due_on",
            "standing__rules",
            "standing__state",
            F("forecast__p_below_now") + F("forecast__p_above_now"),
            "forecast__p_outside_at_horizon",
        )
    )
    found = [_waiting(row, policy) for row in rows]
    return sorted(found, key=lambda unit: (unit.limit_on is None, unit.limit_on or unit.due_on, unit.due_on))


def _waiting(row: tuple[Any, ...], policy: Policy) -> Waiting:
    pk, due_on, rules, state, now, later = row
    guessed = now is None and state not in OUTSIDE
    if state in OUTSIDE:
        now = later = 1.0
    elif now is None:
        now = later = policy.risk_level
    limit_on, rule = _limit(rules)
    return Waiting(pk, due_on, limit_on, min(1.0, now), later, policy.horizon_days, guessed, rule)


def places_of_depot(depot: Depot) -> dict[int, BayPlace]:
    """The places of a depot's bay by turbocharger. One query."""
    return {row.turbocharger_id: row for row in BayPlace.objects.filter(depot=depot)}


def levelled_at(depot: Depot) -> datetime | None:
    """When a depot was last levelled, or its levelling last asked for. Two queries."""
    placed = BayPlace.objects.filter(depot=depot, moved_by__isnull=True).aggregate(at=Max("made_at"))["at"]
    asked = Job.objects.filter(kind=LEVEL, key=level_key(depot.pk)).aggregate(at=Max("created_at"))["at"]
    return max((at for at in (placed, asked) if at), default=None)


def level_key(depot_id: int) -> str:
    """What a depot's levelling is called in the ledger."""
    return f"depot {depot_id}"


def last_levelled() -> dict[str, Any]:
    """When levelling was last asked for, by the job's key. One query."""
    return dict(Job.objects.filter(kind=LEVEL).values_list("key").annotate(Max("created_at")).order_by())


def last_planned() -> dict[int, Any]:
    """When a plan of any of a depot's units was last made, by depot. One query."""
    rows = Standing.objects.order_by().values_list("turbocharger__depot")
    return dict(rows.annotate(Max("derived_at")))
