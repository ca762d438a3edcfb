"""What the clock of a depot showed at a moment."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.templatetags.tz import do_timezone


def clock_at(time_zone: str, moment: datetime) -> datetime:
    """The same moment in `time_zone`; a template leaves it there, where it turns others to the installation's zone."""
    shown: datetime = do_timezone(moment, ZoneInfo(time_zone))
    return shown
