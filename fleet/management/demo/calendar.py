"""From the days of the simulation to dates: day 0 is the last Monday, at load."""

from datetime import UTC, date, datetime, timedelta


class Calendar:
    """Days count from ``monday``."""

    def __init__(self, today: date) -> None:
        self.monday = today - timedelta(days=today.weekday())

    def on(self, day: int) -> date:
        return self.monday + timedelta(days=day)

    def at(self, day: int, minute: int) -> datetime:
        midnight = datetime.combine(self.on(day), datetime.min.time(), UTC)
        return midnight + timedelta(minutes=minute)
