"""Days: which one it is at a depot, when one begins, and the months they lie in."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from django.db.models import Q
from django.utils import timezone

from fleet.models import Depot
from fleet.selectors.clock import day_in


def day_at(depot: Depot, moment: datetime) -> date:
    """The calendar day of ``moment`` where ``depot`` is."""
    return day_in(depot.time_zone, moment)


def days_at(depots: Iterable[Depot], today: date | None = None) -> dict[date, list[int]]:
    """The days that it is now at ``depots``, the earliest first, with the keys of those where it is that day.

    ``today`` makes it the same day everywhere.
    """
    now, found = timezone.now(), dict[date, list[int]]()
    for depot in depots:
        found.setdefault(today or day_at(depot, now), []).append(depot.pk)
    return dict(sorted(found.items())) or {today or timezone.localdate(): []}


def due_before(days: dict[date, list[int]], ahead: int = 0) -> Q:
    """Turbochargers due before the day of their depot, or before so many days after it."""
    each = {day + timedelta(days=ahead): depots for day, depots in days.items()}
    if len(each) == 1:
        return Q(standing__due_on__lt=next(iter(each)))
    late = Q(pk__in=[])
    for day, depots in each.items():
        late |= Q(standing__due_on__lt=day, depot__in=depots)
    return late


def begin_of(day: date) -> datetime:
    """The moment at which ``day`` begins, in the time zone of the installation."""
    return timezone.make_aware(datetime.combine(day, time()))


def month_of(day: date) -> int:
    """Months since year 0, such as 12 * 2026 + 4 for a day in May 2026."""
    return 12 * day.year + day.month - 1


def first_day(month: int) -> date:
    """First day of a month that counts as `month_of` does."""
    return date(month // 12, month % 12 + 1, 1)
