"""The months around a complaint: fuel against the truck's own level, and what its wastegate did."""

from dataclasses import dataclass
from datetime import date

from checks.rules.evidence import RECENT
from checks.selectors.days import first_day
from checks.selectors.evidence import Weighed
from reports.selectors.fuel_months import MonthOfFuel, month_of_fuel


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthRow:
    """One month; no ``fuel`` where there were no trips. ``recent``: speaks of the complaint."""

    first: date
    fuel: MonthOfFuel | None
    recent: bool

    @property
    def words(self) -> str:
        """Such as ``+3.1 (1.2 to 5.0)``."""
        if self.fuel is None:
            return ""
        above = self.fuel.above.times(100)
        return f"{above.value:+.1f} ({above.low:+.1f} to {above.high:+.1f})".replace("-", "−")


def month_rows(found: Weighed) -> list[MonthRow]:
    """The months with trips, and the empty ones between them; none where there are no trips. No query."""
    by_month = {row.month: row for row in found.months}
    if not by_month:
        return []
    level = _level(found)
    fuel = {month: month_of_fuel(row, level) for month, row in by_month.items()}
    return [
        MonthRow(first=first_day(month), fuel=fuel.get(month), recent=0 <= found.month - month < RECENT)
        for month in range(min(by_month), max(by_month) + 1)
    ]


def _level(found: Weighed) -> float:
    """The truck's own level; the mean of the months shown while that is not told."""
    if found.fuel is not None:
        return found.fuel.level
    return sum(row.log_fuel for row in found.months) / len(found.months)
