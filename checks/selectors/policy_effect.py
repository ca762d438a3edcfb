"""What a changed policy would bring in the coming quarter, from stored plans and forecasts."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np

from checks.models import Policy
from checks.rules.epochs import Floats
from checks.rules.policy_effect import Effect, Outlook, effect
from checks.selectors.bay import room_on
from fleet.models import Depot, Turbocharger, User
from fleet.selectors.scope import depots_of

SPAN_DAYS = 91
# Rule to the policy's field that moves its day, and to the one that moves its usage.
MOVED_BY = {
    "calendar_maximum": ("calendar_max_days", ""),
    "usage_maximum": ("", "usage_max_km"),
    "first_look": ("first_look_days", "first_look_km"),
    "after_adjustment": ("after_adjustment_days", "after_adjustment_km"),
    "undecided": ("undecided_days", ""),
    "void": ("void_days", ""),
    "outside_left": ("outside_days", ""),
    "open_complaint": ("complaint_days", ""),
}

COLUMNS = (
    "standing__rules",
    "standing__last_check__made_at",
    "forecast__usage_now",
    "forecast__path",
    "forecast__epoch_began_on",
    "forecast__fit__basis",
)


@dataclass(frozen=True, slots=True)
class DepotEffect:
    """One depot, or all of them: checks due and expected unit-months outside, now and then; what its bay can make."""

    name: str
    checks_now: int
    checks_then: int
    outside_now: float
    outside_then: float
    room: int

    @property
    def over(self) -> bool:
        """Whether the changed policy asks for more than the bay can make."""
        return self.checks_then > self.room


@dataclass(frozen=True, slots=True)
class PolicyEffect:
    """The viewer's depots one by one, then the whole fleet; ``unforecast`` units have no forecast of their own."""

    depots: list[DepotEffect]
    fleet: DepotEffect
    units: int
    unforecast: int
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class _Planned:
    """One unit: the days that rules ask for, and its forecast, nan and flat where there is none."""

    depot: int
    asked: dict[str, int]
    seen_days_ago: float
    used: float
    rate: float
    in_km: bool
    usages: list[float]
    chances: list[float]


@dataclass(frozen=True, slots=True)
class _Plans:
    outlook: Outlook
    rate: Floats
    unforecast: int


def policy_effect(*, user: User, now: Policy, then: Policy, today: date) -> PolicyEffect:
    """Compare two policies over the same units. Four queries; reads every plan and forecast once."""
    depots = list(Depot.objects.order_by("name"))
    plans = _plans({depot.pk: place for place, depot in enumerate(depots)}, today)
    before = _effect(plans.outlook, now, len(depots))
    after = _effect(plans.outlook.moved(_moves(plans, now, then)), then, len(depots))
    rooms = [room_of(depot, today) for depot in depots]
    own = set(depots_of(user).values_list("pk", flat=True))
    rows = [_row(depot.name, before, after, [i], rooms) for i, depot in enumerate(depots) if depot.pk in own]
    return PolicyEffect(
        depots=rows,
        fleet=_row("the whole fleet", before, after, list(range(len(depots))), rooms),
        units=plans.outlook.units,
        unforecast=plans.unforecast,
        until=today + timedelta(days=SPAN_DAYS),
    )


def room_of(depot: Depot, today: date, days: int = SPAN_DAYS) -> int:
    """Checks that a depot's bay can make from today on."""
    return sum(room_on(depot, today + timedelta(days=n)) for n in range(days))


def _effect(outlook: Outlook, policy: Policy, depots: int) -> Effect:
    return effect(outlook, level=policy.risk_level, least_days=policy.risk_min_days, depots=depots, span_days=SPAN_DAYS)


def _row(name: str, now: Effect, then: Effect, places: list[int], rooms: list[int]) -> DepotEffect:
    return DepotEffect(
        name=name,
        checks_now=int(now.checks[places].sum()),
        checks_then=int(then.checks[places].sum()),
        outside_now=float(now.outside_months[places].sum()),
        outside_then=float(then.outside_months[places].sum()),
        room=sum(rooms[place] for place in places),
    )


def _moves(plans: _Plans, now: Policy, then: Policy) -> dict[str, Floats]:
    """By how many days each rule's day moves; a distance is turned into days by the unit's own rate of use."""
    moves: dict[str, Floats] = {}
    for rule, (days, distance) in MOVED_BY.items():
        if days:
            by = float(getattr(then, days) - getattr(now, days))
            moves[f"{rule} by date"] = np.full(plans.outlook.units, by)
        if distance:
            moves[f"{rule} by usage"] = (getattr(then, distance) - getattr(now, distance)) / plans.rate
    return moves


def _plans(places: dict[int, int], today: date) -> _Plans:
    """Planned units with their forecasts. One query, read in pieces: whole rows of 10,000 units would weigh much."""
    # The same few days come again and again.
    days_to = cache(lambda text: (date.fromisoformat(text) - today).days)
    rows = Turbocharger.objects.filter(scrapped_on__isnull=True, standing__due_on__isnull=False).order_by("pk")
    units = [
        _planned(places[depot], rest, today, days_to)
        for depot, *rest in rows.values_list("depot", *COLUMNS).iterator(chunk_size=1000)
    ]
    names = [f"{rule} by {way}" for rule in MOVED_BY for way in ("date", "usage")]
    width = max((len(unit.usages) for unit in units), default=2)
    outlook = Outlook(
        usage_now=np.array([unit.used for unit in units]),
        usage_per_day=np.array([unit.rate for unit in units]),
        # Shorter fans go on level.
        path_usage=_table([unit.usages for unit in units], width, np.inf),
        path_chance=_table([unit.chances for unit in units], width, None),
        seen_days_ago=np.array([unit.seen_days_ago for unit in units]),
        asked={name: np.array([unit.asked.get(name, np.inf) for unit in units]) for name in names},
        depot=np.array([unit.depot for unit in units], dtype=np.int64),
    )
    km_rate = np.array([unit.rate if unit.in_km and unit.rate > 0 else np.inf for unit in units])
    return _Plans(outlook, km_rate, int(np.isnan(outlook.usage_now).sum()))


def _planned(depot: int, row: list[Any], today: date, days_to: Callable[[str], int]) -> _Planned:
    rules, made_at, used, fan, began_on, basis = row
    looked = made_at.date() if made_at else began_on
    known = fan is not None and len(fan) > 1
    return _Planned(
        depot=depot,
        asked={
            f"{rule['rule']} by {way}": days_to(rule[f"by_{way}"])
            for rule in rules
            for way in ("date", "usage")
            if rule["rule"] in MOVED_BY and rule[f"by_{way}"]  # risk is worked out anew from the forecast
        },
        seen_days_ago=(today - looked).days if looked else np.inf,
        used=used if known else np.nan,
        rate=_rate(rules, used, began_on, today) if known else np.nan,
        in_km=basis == "km",
        usages=[place[0] for place in fan] if known else [0.0, 0.0],
        chances=[place[-1] for place in fan] if known else [0.0, 0.0],
    )


def _table(rows: list[list[float]], width: int, beyond: float | None) -> Floats:
    """Rows of one width; what is missing holds `beyond`, or the row's last value."""
    filled = [row + [row[-1] if beyond is None else beyond] * (width - len(row)) for row in rows]
    return np.array(filled, dtype=np.float64).reshape(-1, width)


def _rate(rules: list[dict[str, Any]], used: float, began_on: date, today: date) -> float:
    """Usage per day as the plan took it, or since the setting where risk asked for nothing."""
    for rule in rules:
        if rule["rule"] == "risk":
            return float(rule["inputs"].get("per_day") or 0.0)
    return used / max(1, (today - began_on).days)
