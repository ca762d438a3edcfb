"""Which day it is at a depot."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from fleet.models import Depot


def day_at(depot: Depot, moment: datetime) -> date:
    """The calendar day of ``moment`` where ``depot`` is."""
    return moment.astimezone(ZoneInfo(depot.time_zone)).date()
