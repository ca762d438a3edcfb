"""A unit whose rod was turned at the last check."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day, earlier, km


def after_adjustment(unit: Unit, limits: Limits) -> Due | None:
    """See soon whether an adjustment holds: a workshop's setting settles, and its lock nut may not."""
    seen = unit.seen
    if seen is None or not seen.adjusted:
        return None
    by_date = seen.on + timedelta(days=limits.after_adjustment_days)
    limit_km = None if seen.odometer_km is None else seen.odometer_km + limits.after_adjustment_km
    by_usage = None if limit_km is None else unit.use.day_of(limit_km)
    return Due(
        rule="after_adjustment",
        on=earlier(by_date, by_usage),
        by_date=by_date,
        by_usage=by_usage,
        odometer_km=limit_km,
        sentence=(
            f"Adjusted on {day(seen.on)}: see whether it holds after {km(limits.after_adjustment_km)} "
            f"or {limits.after_adjustment_days} days."
        ),
        inputs={
            "checked_on": seen.on.isoformat(),
            "checked_odometer_km": seen.odometer_km,
            "after_adjustment_km": limits.after_adjustment_km,
            "after_adjustment_days": limits.after_adjustment_days,
        },
    )
