"""A month of a truck's fuel against its own level, and what its wastegate did."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from checks.measurement.quantiles import NORMAL_95
from checks.models import FuelMonth
from checks.selectors.days import first_day
from checks.selectors.fuel import Amount
from reports.charts.months import MonthMark

STATES = {
    FuelMonth.Travel.UNKNOWN: "",
    FuelMonth.Travel.INSIDE: "inside",
    FuelMonth.Travel.OUTSIDE_LOW: "outside_low",
    FuelMonth.Travel.OUTSIDE_HIGH: "outside_high",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthOfFuel:
    """One month with trips. ``above``: fuel above the truck's own level as a share, with limits of the month's noise.

    ``state``: where the wastegate stood, empty where unknown; ``beyond_mm``: expected travel past the limit.
    """

    first: date
    above: Amount
    state: str
    beyond_mm: float
    alarm: bool

    @property
    def mark(self) -> MonthMark:
        """As charts draw it."""
        above = self.above.times(100)
        return MonthMark(
            first=self.first, percent=above.value, low=above.low, high=above.high, state=self.state, alarm=self.alarm
        )


def month_of_fuel(row: FuelMonth, level: float) -> MonthOfFuel:
    """A month against the level, which is a logarithm as the month's fuel is."""
    above, half = row.log_fuel - level, NORMAL_95 * row.standard_error
    return MonthOfFuel(
        first=first_day(row.month),
        above=share_of(above, above - half, above + half),
        state=state_of(row),
        beyond_mm=beyond_mm(row),
        alarm=row.thirsty,
    )


def state_of(row: FuelMonth) -> str:
    """Where the wastegate stood in a month."""
    return STATES[FuelMonth.Travel(row.travel)]


def beyond_mm(row: FuelMonth) -> float:
    """Expected travel past the limit."""
    return max(row.shortfall_mm or 0.0, row.excess_mm or 0.0)


def share_of(value: float, low: float, high: float) -> Amount:
    """A share of fuel from differences of logarithms."""
    return Amount(*(float(np.expm1(x)) for x in (value, low, high)))
