"""A unit that the last check left outside its window."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day

SIDES = {"outside_low": "below", "outside_high": "above"}


def outside_left(unit: Unit, limits: Limits) -> Due | None:
    """Call a unit in that runs outside its window, whether nobody turned the rod or turning it did not help."""
    if unit.seen is None or unit.seen.state not in SIDES:
        return None
    on = unit.seen.on + timedelta(days=limits.outside_days)
    return Due(
        rule="outside_left",
        on=on,
        by_date=on,
        sentence=(
            f"Left {SIDES[unit.seen.state]} its window on {day(unit.seen.on)}: "
            f"mend it within {limits.outside_days} days."
        ),
        inputs={
            "checked_on": unit.seen.on.isoformat(),
            "state": unit.seen.state,
            "outside_days": limits.outside_days,
        },
    )
