"""What the clock of a depot showed at a moment, and which day it was there."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.templatetags.tz import do_timezone


def day_in(time_zone: str, moment: datetime) -> date:
    """The calendar day of `moment` in `time_zone`."""
    return moment.astimezone(ZoneInfo(time_zone)).date()


def clock_at(time_zone: str, moment: datetime) -> datetime:
    """The same moment in `time_zone`; a template leaves it there, where it turns others to the installation's zone."""
    shown: datetime = do_timezone(moment, ZoneInfo(time_zone))
    return shown
