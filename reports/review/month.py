"""A calendar month, as depots' own days count it."""

from dataclasses import dataclass
from datetime import date, timedelta

from checks.selectors.days import month_of


@dataclass(frozen=True, slots=True)
class Month:
    """A month by its first day."""

    first: date

    @property
    def last(self) -> date:
        return self.after - timedelta(days=1)

    @property
    def after(self) -> date:
        """First day of the next month."""
        return (self.first + timedelta(days=32)).replace(day=1)

    @property
    def before(self) -> date:
        """Last day of the month before."""
        return self.first - timedelta(days=1)

    @property
    def year_began(self) -> date:
        """First day of the twelve months that end with this one."""
        return self.after.replace(year=self.after.year - 1)

    @property
    def number(self) -> int:
        """12 * year + month - 1, as months of fuel are counted."""
        return month_of(self.first)

    @property
    def words(self) -> str:
        """Such as ``October 2026``."""
        return f"{self.first:%B %Y}"


def month_before(day: date) -> Month:
    """The last whole month before `day`."""
    return Month((day.replace(day=1) - timedelta(days=1)).replace(day=1))


def month_from(text: str) -> Month | None:
    """Read ``2026-10``; None where that is no month, or none that a calendar reckons around."""
    try:
        month = Month(date.fromisoformat(f"{text}-01"))
    except ValueError:
        return None
    return month if date.min.year + 1 < month.first.year < date.max.year else None
