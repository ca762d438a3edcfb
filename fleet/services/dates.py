"""Days that people give for what already happened."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from fleet.models import Depot
from fleet.problems import FleetError

# A year typed with two digits is the year 26; no truck on the road is older than this. Common practice, no source.
EARLIEST = date(1970, 1, 1)


def day_that_was(day: date | None, field: str) -> None:
    """Refuse a day that has begun nowhere on earth yet, or that lies before any truck in service."""
    if day is not None and day < EARLIEST:
        sentence = f"The year {day.year} lies too far back. Give all four digits of the year, {EARLIEST.year} or later."
        raise FleetError("too_far_back", field, sentence)
    if day is not None and day > (timezone.now() + timedelta(hours=14)).date():
        raise FleetError("in_the_future", field, f"{day:%-d %b %Y} lies in the future. Give the day it happened.")


def noon_at(depot: Depot, day: date) -> datetime:
    """Noon of `day` at the depot, or now where that has not come yet."""
    return min(datetime.combine(day, time(12), ZoneInfo(depot.time_zone)), timezone.now())
