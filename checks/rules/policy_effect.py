"""What a policy would bring in the coming days: checks to make, and time that units spend outside their window."""

from dataclasses import dataclass, replace

import numpy as np

from checks.rules.epochs import Floats, Ints

DAYS_A_MONTH = 365.25 / 12
# Days on which chances are taken; between them they run straight.
STEPS = 13


@dataclass(frozen=True, slots=True)
class Outlook:
    """Units as stored plans and forecasts show them, shape (n,) unless said otherwise; days count from today.

    usage_now, usage_per_day : since the epoch's start, and how fast it grows; nan where there is no forecast
    path_usage, path_chance : shape (n, k), the stored chance of being outside along usage, rising usages
    seen_days_ago : days since the last look, or since fitting
    asked : rule name to the day it asks for, inf where it does not
    depot : index of the unit's depot
    """

    usage_now: Floats
    usage_per_day: Floats
    path_usage: Floats
    path_chance: Floats
    seen_days_ago: Floats
    asked: dict[str, Floats]
    depot: Ints

    @property
    def units(self) -> int:
        return len(self.depot)

    def moved(self, by: dict[str, Floats]) -> "Outlook":
        """The same with every rule's day moved by so many days."""
        return replace(self, asked={name: days + by.get(name, 0.0) for name, days in self.asked.items()})


@dataclass(frozen=True, slots=True)
class Effect:
    """Per depot, shape (depots,): checks due within the span, and expected unit-months outside within it."""

    checks: Ints
    outside_months: Floats


def chance_at(outlook: Outlook, days: float | Floats) -> Floats:
    """Chance of being outside ``days`` from today, shape (n,); 0 where there is no forecast."""
    usage = outlook.usage_now + outlook.usage_per_day * np.maximum(days, 0.0)
    return _interpolated(outlook.path_usage, outlook.path_chance, usage)


def risk_day(outlook: Outlook, level: float, least_days: float) -> Floats:
    """Day on which the chance of being outside reaches ``level``, no earlier than ``least_days`` after the last look.

    inf where the stored path never reaches it; in the past where it was reached.
    """
    path, chance = outlook.path_usage, outlook.path_chance
    over = chance >= level
    reached = over.any(axis=1)
    after = np.argmax(over, axis=1)
    before = np.maximum(after - 1, 0)
    row = np.arange(outlook.units)
    rise = chance[row, after] - chance[row, before]
    share = np.where(after > 0, (level - chance[row, before]) / np.where(rise > 0, rise, 1.0), 0.0)
    usage = path[row, before] + share * (path[row, after] - path[row, before])
    rate = np.where(outlook.usage_per_day > 0, outlook.usage_per_day, np.nan)
    day = np.where(reached, (usage - outlook.usage_now) / rate, np.inf)
    return np.where(np.isnan(day), np.inf, np.maximum(day, least_days - outlook.seen_days_ago))


def effect(outlook: Outlook, *, level: float, least_days: float, depots: int, span_days: int = 91) -> Effect:
    """Count checks and expected time outside within the span.

    A unit counts as outside with its chance up to its check, and as mended from then on; a unit due today or earlier
    is taken as seen today. A second check of the same unit within the span is not forecast.
    """
    due = np.minimum.reduce([risk_day(outlook, level, least_days), *outlook.asked.values()])
    until = np.clip(due, 0.0, span_days)
    grid = np.linspace(0.0, 1.0, STEPS)
    chances = np.stack([chance_at(outlook, until * share) for share in grid])
    outside_days = np.trapezoid(chances, grid, axis=0) * until
    within = due <= span_days
    return Effect(
        checks=np.bincount(outlook.depot[within], minlength=depots),
        outside_months=np.bincount(outlook.depot, outside_days / DAYS_A_MONTH, depots).astype(np.float64),
    )


def _interpolated(x: Floats, y: Floats, at: Floats) -> Floats:
    """Each row's own piecewise line, held level beyond its ends; 0 where ``at`` is nan."""
    column = (x <= np.nan_to_num(at)[:, None]).sum(axis=1)
    high = np.clip(column, 1, x.shape[1] - 1)
    row, low = np.arange(len(at)), high - 1
    width = x[row, high] - x[row, low]
    share = np.clip((np.nan_to_num(at) - x[row, low]) / np.where(width > 0, width, 1.0), 0.0, 1.0)
    found = y[row, low] + share * (y[row, high] - y[row, low])
    return np.where(np.isnan(at), 0.0, found)
