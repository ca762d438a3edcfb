"""A check whose procedure was broken."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit


def void(unit: Unit, limits: Limits) -> Due | None:
    """Repeat a check that says nothing."""
    if unit.seen is None or unit.seen.state != "void":
        return None
    on = unit.seen.on + timedelta(days=limits.void_days)
    return Due(
        rule="void",
        on=on,
        by_date=on,
        sentence=f"The last check was void and says nothing: repeat it within {limits.void_days} days.",
        inputs={"checked_on": unit.seen.on.isoformat(), "void_days": limits.void_days},
    )
