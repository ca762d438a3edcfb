"""What the records say of one complaint: where the wastegate stood, what fuel did, how sure that is, what to do next.

Never more than the data: a state counts only where a check decided it or its chance reached the level asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student

from checks.rules.thirst import LEAST_MONTHS, monthly_alarm

# A check this many days after the complaint speaks of the same state (ours, no source).
SOON_DAYS = 60
# Months that speak of the complaint: its own and the one before, since drivers notice late.
RECENT = 2


class Where(StrEnum):
    """Where the wastegate stood when the complaint was raised."""

    OUTSIDE_LOW = "outside_low"
    OUTSIDE_HIGH = "outside_high"
    INSIDE = "inside"
    UNSURE = "unsure"
    UNKNOWN = "unknown"


class Basis(StrEnum):
    """What a state rests on, the best first."""

    CHECK_SINCE = "check_since"
    FORECAST = "forecast"
    LAST_CHECK = "last_check"
    NOTHING = "nothing"


class Fuel(StrEnum):
    """Adjusted fuel use against the truck's own level."""

    MORE = "more"
    LESS = "less"
    LEVEL = "level"
    UNKNOWN = "unknown"


class Step(StrEnum):
    """What to do next, the most pressing first."""

    RESTORE = "restore"
    CHECK_NOW = "check_now"
    REPEAT = "repeat"
    WATCH = "watch"
    LOOK_ELSEWHERE = "look_elsewhere"
    RECORD_UNIT = "record_unit"


class Sure(StrEnum):
    """How sure the state is."""

    WELL = "well"
    FAIRLY = "fairly"
    POORLY = "poorly"
    NOT = "not"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A check: its day, the state found, and where it read, travel and expanded uncertainty (mm); the same as left
    where the rod was turned."""

    on: date
    state: str
    travel_mm: float | None = None
    expanded_mm: float | None = None
    left: str = ""
    left_mm: float | None = None
    left_expanded_mm: float | None = None

    @property
    def stands(self) -> str:
        """The state from this check on."""
        return self.left or self.state


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastTravel:
    """True travel on the day of the complaint by the drift model: mean and standard deviation (mm), and the chances of
    lying below and above the window; ``readings`` of its own on which that rests."""

    travel_mm: float
    sd_mm: float
    p_low: float
    p_high: float
    readings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """One turbocharger that the truck carried then: the last check before, the first one since, and the forecast."""

    name: str
    before: Look | None = None
    since: Look | None = None
    forecast: ForecastTravel | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelSaid:
    """Change of adjusted fuel use against the truck's own level as a share, with 95 % limits; ``recent`` months
    against ``past`` ones, whose mean log fuel is ``level``. ``alarm``: whether the thirst alarm stood."""

    change: float
    low: float
    high: float
    level: float
    recent: int
    past: int
    alarm: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What is said of one turbocharger. ``chance`` of being outside where a forecast tells it; ``trusted`` is False
    after a check that was void or undecided."""

    stand: Stand
    where: Where
    basis: Basis
    step: Step
    sure: Sure
    chance: float | None = None
    trusted: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What is said of the complaint: that of its most pressing unit, ``units[0]``, and of the fuel."""

    units: tuple[Judged, ...]
    fuel: Fuel
    step: Step
    sure: Sure

    @property
    def where(self) -> Where:
        """Where the most pressing unit stood."""
        return self.units[0].where if self.units else Where.UNKNOWN

    @property
    def agrees(self) -> bool | None:
        """Whether fuel and travel point the same way: both at the wastegate, or not both; None where one is open."""
        outside = self.where in _OUTSIDE
        if self.where in {Where.UNSURE, Where.UNKNOWN} or self.fuel in {Fuel.LEVEL, Fuel.UNKNOWN}:
            return None
        return outside and self.fuel == Fuel.MORE


_OUTSIDE = frozenset({Where.OUTSIDE_LOW, Where.OUTSIDE_HIGH})
_DECIDED = {"inside": Where.INSIDE, "outside_low": Where.OUTSIDE_LOW, "outside_high": Where.OUTSIDE_HIGH}
_PRESSING = list(Step)


def weigh(stands: Sequence[Stand], raised_on: date, fuel: FuelSaid | None, level: float = 0.95) -> Evidence:
    """Weigh the records about one complaint.

    Parameters
    ----------
    stands : the turbochargers that the truck carried on the day.
    fuel : what adjusted fuel use did, None where it is not known.
    level : probability at which a forecast counts as inside or outside; above 0.5.

    Raises
    ------
    ValueError
        When ``level`` does not lie between 0.5 and 1.
    """
    if not 0.5 < level < 1.0:
        raise ValueError("the level must lie between 0.5 and 1")
    units = [_judge(stand, raised_on, level) for stand in stands]
    units.sort(key=lambda unit: (_PRESSING.index(unit.step), unit.where not in _OUTSIDE))
    if not units:
        return Evidence(units=(), fuel=fuel_word(fuel), step=Step.RECORD_UNIT, sure=Sure.NOT)
    return Evidence(units=tuple(units), fuel=fuel_word(fuel), step=units[0].step, sure=units[0].sure)


def fuel_word(said: FuelSaid | None) -> Fuel:
    """What the limits allow to be said."""
    if said is None:
        return Fuel.UNKNOWN
    return Fuel.MORE if said.low > 0.0 else Fuel.LESS if said.high < 0.0 else Fuel.LEVEL


def against_own_level(month: ArrayLike, log_fuel: ArrayLike, at: int, *, alarm: bool = False) -> FuelSaid | None:
    """The month of a complaint and the one before against the truck's own level before those.

    Level and spread are those of the thirst alarm: months of a run of thirst do not make the level. The limits are
    Student's t on that spread, with 0.6 of the degrees of freedom that its moving range is made of. None while fewer
    than six months make the level, or without a recent month. Months after ``at`` are not looked at.

    Parameters
    ----------
    month, log_fuel : shape (n,), 12 * year + month - 1, rising, and adjusted log of L/100 km of one truck.
    at : month of the complaint.

    Raises
    ------
    ValueError
        When the lengths differ, a value is not finite, or months do not rise.
    """
    months, values = np.asarray(month, dtype=np.int64), np.asarray(log_fuel, dtype=np.float64)
    if months.shape != values.shape or not np.isfinite(values).all():
        raise ValueError("month and log_fuel must have one length and finite values")
    if (np.diff(months) <= 0).any():
        raise ValueError("months must rise")
    known = values[months <= at]
    recent = np.flatnonzero(months[months <= at] > at - RECENT)
    if not len(recent):
        return None
    found = monthly_alarm(known, np.zeros(len(known), dtype=np.int64))
    first = int(recent[0])
    if found.quiet[first] < LEAST_MONTHS:
        return None
    level, quiet = float(found.level[first]), int(found.quiet[first])
    difference = float(known[recent].mean()) - level
    error = float(found.spread[first]) * np.sqrt(1 / len(recent) + 1 / quiet)
    half = float(student.ppf(0.975, 0.6 * (len(known) - 1)) * error)
    change, low, high = (float(np.expm1(x)) for x in (difference, difference - half, difference + half))
    return FuelSaid(change=change, low=low, high=high, level=level, recent=len(recent), past=quiet, alarm=alarm)


def _judge(stand: Stand, raised_on: date, level: float) -> Judged:
    since, before, forecast = stand.since, stand.before, stand.forecast
    if since is not None and since.state in _DECIDED:
        where = _DECIDED[since.state]
        sure = Sure.WELL if (since.on - raised_on).days <= SOON_DAYS else Sure.FAIRLY
        return Judged(stand=stand, where=where, basis=Basis.CHECK_SINCE, step=_answered(where, since), sure=sure)
    if since is not None and since.state == "undecided":
        return _distrusted(stand, Where.UNSURE, Basis.CHECK_SINCE)
    trusted = since is None and (before is None or before.stands in _DECIDED)
    if forecast is not None and forecast.readings > 0:
        chance = min(1.0, forecast.p_low + forecast.p_high)
        where = _by_chance(forecast, chance, level)
        if not trusted:
            return _distrusted(stand, where, Basis.FORECAST, chance)
        told = where != Where.UNSURE
        sure = Sure.NOT if not told else Sure.FAIRLY if forecast.readings > 1 else Sure.POORLY
        return Judged(stand=stand, where=where, basis=Basis.FORECAST, step=_open(where), sure=sure, chance=chance)
    if not trusted:
        return _distrusted(stand, Where.UNSURE, Basis.LAST_CHECK if since is None else Basis.CHECK_SINCE)
    if before is not None:
        where = _DECIDED[before.stands]
        return Judged(stand=stand, where=where, basis=Basis.LAST_CHECK, step=_open(where), sure=Sure.POORLY)
    return Judged(stand=stand, where=Where.UNKNOWN, basis=Basis.NOTHING, step=Step.CHECK_NOW, sure=Sure.NOT)


def _by_chance(forecast: ForecastTravel, chance: float, level: float) -> Where:
    if forecast.p_low >= level:
        return Where.OUTSIDE_LOW
    if forecast.p_high >= level:
        return Where.OUTSIDE_HIGH
    return Where.INSIDE if chance <= 1.0 - level else Where.UNSURE


def _answered(where: Where, since: Look) -> Step:
    if where == Where.INSIDE:
        return Step.LOOK_ELSEWHERE
    return Step.WATCH if since.left == "inside" else Step.RESTORE


def _open(where: Where) -> Step:
    return Step.LOOK_ELSEWHERE if where == Where.INSIDE else Step.CHECK_NOW


def _distrusted(stand: Stand, where: Where, basis: Basis, chance: float | None = None) -> Judged:
    step = Step.CHECK_NOW if where in _OUTSIDE else Step.REPEAT
    return Judged(stand=stand, where=where, basis=basis, step=step, sure=Sure.NOT, chance=chance, trusted=False)
