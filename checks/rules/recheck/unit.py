"""A fitted unit as the rules see it, and what a rule says of it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The policy's limits: days, and distances in km."""

    first_look_km: float
    first_look_days: int
    calendar_max_days: int
    usage_max_km: float
    after_adjustment_days: int
    after_adjustment_km: float
    undecided_days: int
    void_days: int
    outside_days: int
    complaint_days: int
    risk_min_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The last check: its day, the odometer then (km), the state that stands since, and whether the rod was turned."""

    on: date
    state: str
    adjusted: bool = False
    odometer_km: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How fast a truck runs: an odometer reading (km) of one day, and km per day from there on.

    ``slow_km_per_day`` to ``fast_km_per_day`` is the spread of that rate, None where its readings cannot tell.
    """

    km_per_day: float
    source: str
    odometer_km: float | None = None
    on: date | None = None
    slow_km_per_day: float | None = None
    fast_km_per_day: float | None = None

    def day_of(self, odometer_km: float) -> date | None:
        """The day on which the odometer is expected to show ``odometer_km``; None where nobody read it yet."""
        if self.odometer_km is None or self.on is None or self.km_per_day <= 0.0:
            return None
        days = (odometer_km - self.odometer_km) / self.km_per_day
        # A truck that hardly moves would land beyond the calendar.
        return self.on + timedelta(days=min(ceil(days), 36_500)) if days > -36_500 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What the drift forecast says: on the day ``as_of`` the unit had ``left`` to run (in ``unit``, km or h) until
    the chance of being outside reaches ``level``; below zero where it did so already, None where not within sight.
    ``from_start``: it was as high as that at the last look, or when fitted. ``use`` is counted in ``unit`` too.
    """

    as_of: date
    level: float
    left: float | None
    use: Use
    unit: str = "km"
    from_start: bool = False

    def day_after(self, left: float, per_day: float) -> date:
        """The day on which ``left`` is run at that rate."""
        return self.as_of + timedelta(days=max(-36_500, min(36_500, ceil(left / per_day))))

    def meter_at(self, left: float) -> float | None:
        """What the meter shows then; None where nobody read it yet."""
        if self.use.odometer_km is None or self.use.on is None:
            return None
        since = max(0, (self.as_of - self.use.on).days)
        return self.use.odometer_km + self.use.km_per_day * since + left


@dataclass(frozen=True, slots=True, kw_only=True)
class Recalled:
    """An open recall that changes a verdict of the unit, which nobody has seen since: its key, day and instrument."""

    recall: int
    on: date
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A turbocharger on an engine. ``seen`` is the last check since it was fitted there, None where there is none."""

    fitted_on: date
    use: Use
    fitted_odometer_km: float | None = None
    seen: Seen | None = None
    complaint_raised_on: date | None = None
    complaint_kind: str = ""
    outlook: Outlook | None = None
    recalled: Recalled | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """What one rule asks: a day, and where usage counts the odometer (km) that leads to it.

    ``by_date`` and ``by_usage`` are the two days; the earlier is ``on``.
    """

    rule: str
    on: date
    sentence: str
    odometer_km: float | None = None
    by_date: date | None = None
    by_usage: date | None = None
    inputs: dict[str, str | float | int | None] = field(default_factory=dict)


def earlier(by_date: date, by_usage: date | None) -> date:
    """The earlier of two days, of which the second may be unknown."""
    return by_date if by_usage is None else min(by_date, by_usage)


def km(value: float) -> str:
    """A distance as a person reads it."""
    return f"{value:,.0f} km"


def day(value: date) -> str:
    """A day as a person reads it, such as 4 Mar 2025."""
    return f"{value.day} {value:%b %Y}"


def reached_at(path: Sequence[tuple[float, float]], level: float) -> float | None:
    """Usage at which a chance drawn as (usage, chance) in the order of usage first reaches ``level``, if it does."""
    before: tuple[float, float] | None = None
    for usage, chance in path:
        if chance >= level:
            if before is None:
                return usage
            return before[0] + (usage - before[0]) * (level - before[1]) / (chance - before[1])
        before = (usage, chance)
    return None
