"""The longest that a unit may go unseen."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day


def calendar_maximum(unit: Unit, limits: Limits) -> Due | None:
    """Look again after the longest time that the policy allows between checks."""
    if unit.seen is None:
        return None
    on = unit.seen.on + timedelta(days=limits.calendar_max_days)
    return Due(
        rule="calendar_maximum",
        on=on,
        by_date=on,
        sentence=f"Last seen on {day(unit.seen.on)}: at most {limits.calendar_max_days} days pass between checks.",
        inputs={"checked_on": unit.seen.on.isoformat(), "calendar_max_days": limits.calendar_max_days},
    )
