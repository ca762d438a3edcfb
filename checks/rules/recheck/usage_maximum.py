"""The farthest that a unit may run unseen."""

from checks.rules.recheck.unit import Due, Limits, Unit, km


def usage_maximum(unit: Unit, limits: Limits) -> Due | None:
    """Look again after the longest run that the policy allows between checks."""
    if unit.seen is None or unit.seen.odometer_km is None:
        return None
    limit_km = unit.seen.odometer_km + limits.usage_max_km
    on = unit.use.day_of(limit_km)
    if on is None:
        return None
    return Due(
        rule="usage_maximum",
        on=on,
        by_usage=on,
        odometer_km=limit_km,
        sentence=(
            f"Last seen at {km(unit.seen.odometer_km)}: at most {km(limits.usage_max_km)} are run between checks, "
            f"so at {km(limit_km)}."
        ),
        inputs={"checked_odometer_km": unit.seen.odometer_km, "usage_max_km": limits.usage_max_km},
    )
