"""A unit that nobody has looked at since it was fitted."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day, earlier, km


def first_look(unit: Unit, limits: Limits) -> Due | None:
    """Look at it for the first time a set distance or time after fitting, whichever comes first."""
    if unit.seen is not None:
        return None
    by_date = unit.fitted_on + timedelta(days=limits.first_look_days)
    limit_km = None if unit.fitted_odometer_km is None else unit.fitted_odometer_km + limits.first_look_km
    by_usage = None if limit_km is None else unit.use.day_of(limit_km)
    return Due(
        rule="first_look",
        on=earlier(by_date, by_usage),
        by_date=by_date,
        by_usage=by_usage,
        odometer_km=limit_km,
        sentence=(
            f"Not looked at since it was fitted on {day(unit.fitted_on)}: first look after {km(limits.first_look_km)} "
            f"or {limits.first_look_days} days."
        ),
        inputs={
            "fitted_on": unit.fitted_on.isoformat(),
            "fitted_odometer_km": unit.fitted_odometer_km,
            "first_look_km": limits.first_look_km,
            "first_look_days": limits.first_look_days,
        },
    )
