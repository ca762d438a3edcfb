"""The months around a complaint: fuel against the truck's own level, and what its wastegate did."""

import math
from dataclasses import dataclass
from datetime import date

from checks.measurement.quantiles import NORMAL_95
from checks.models import FuelMonth
from checks.rules.evidence import RECENT
from checks.selectors.evidence import Weighed

TRAVEL = {
    FuelMonth.Travel.UNKNOWN: "",
    FuelMonth.Travel.INSIDE: "inside",
    FuelMonth.Travel.OUTSIDE_LOW: "outside_low",
    FuelMonth.Travel.OUTSIDE_HIGH: "outside_high",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthRow:
    """One month. ``percent``: fuel above the truck's own level, with limits of the month's noise alone; None where
    there were no trips. ``travel`` is a state, empty where unknown. ``recent``: speaks of the complaint."""

    first: date
    percent: float | None
    low: float
    high: float
    travel: str
    alarm: bool
    recent: bool

    @property
    def words(self) -> str:
        """Such as ``+3.1 (1.2 to 5.0)``."""
        if self.percent is None:
            return ""
        return f"{self.percent:+.1f} ({self.low:+.1f} to {self.high:+.1f})".replace("-", "−")


def month_rows(found: Weighed) -> list[MonthRow]:
    """The months with trips, and the empty ones between them; none where there are no trips. No query."""
    by_month = {row.month: row for row in found.months}
    if not by_month:
        return []
    level = _level(found)
    return [_row(month, by_month.get(month), level, found.month) for month in range(min(by_month), max(by_month) + 1)]


def _level(found: Weighed) -> float:
    """The truck's own level; the mean of the months shown while that is not told."""
    if found.fuel is not None:
        return found.fuel.level
    return sum(row.log_fuel for row in found.months) / len(found.months)


def _row(month: int, row: FuelMonth | None, level: float, at: int) -> MonthRow:
    where = {"first": date(month // 12, month % 12 + 1, 1), "recent": 0 <= at - month < RECENT}
    if row is None:
        return MonthRow(percent=None, low=0.0, high=0.0, travel="", alarm=False, **where)  # type: ignore[arg-type]
    above, half = row.log_fuel - level, NORMAL_95 * row.standard_error
    percent, low, high = (100 * math.expm1(x) for x in (above, above - half, above + half))
    travel = TRAVEL[FuelMonth.Travel(row.travel)]
    return MonthRow(percent=percent, low=low, high=high, travel=travel, alarm=row.thirsty, **where)  # type: ignore[arg-type]
