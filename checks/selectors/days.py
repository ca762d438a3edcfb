"""Days: which one it is at a depot, when one begins, and the months they lie in."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.utils import timezone

from fleet.models import Depot


def day_at(depot: Depot, moment: datetime) -> date:
    """The calendar day of ``moment`` where ``depot`` is."""
    return moment.astimezone(ZoneInfo(depot.time_zone)).date()


def begin_of(day: date) -> datetime:
    """The moment at which ``day`` begins, in the time zone of the installation."""
    return timezone.make_aware(datetime.combine(day, time()))


def month_of(day: date) -> int:
    """Months since year 0, such as 12 * 2026 + 4 for a day in May 2026."""
    return 12 * day.year + day.month - 1


def first_day(month: int) -> date:
    """First day of a month that counts as `month_of` does."""
    return date(month // 12, month % 12 + 1, 1)
