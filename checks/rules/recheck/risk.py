"""A unit whose drift makes it likely enough to be outside."""

from datetime import date, timedelta

from checks.rules.recheck.unit import Due, Limits, Outlook, Unit, day


def risk(unit: Unit, limits: Limits) -> Due | None:
    """Look when the chance of being outside reaches the policy's level, but not too soon after the last look."""
    outlook = unit.outlook
    if outlook is None or outlook.left is None:
        return None
    reached = outlook.day_after(outlook.left, outlook.use.km_per_day)
    looked = unit.seen.on if unit.seen else unit.fitted_on
    soonest = looked + timedelta(days=limits.risk_min_days)
    on = max(reached, soonest)
    between = _between(outlook)
    meter = outlook.meter_at(outlook.left)
    return Due(
        rule="risk",
        on=on,
        by_usage=reached,
        by_date=soonest if on != reached else None,
        odometer_km=meter if outlook.unit == "km" and on == reached else None,
        sentence=_sentence(unit, outlook, reached) + _bounds(between, soonest if on != reached else None),
        inputs={
            "level": outlook.level,
            "usage_left": round(outlook.left, 1),
            "unit": outlook.unit,
            "as_of": outlook.as_of.isoformat(),
            "per_day": round(outlook.use.km_per_day, 2),
            "rate_from": outlook.use.source,
            "earliest": between[0].isoformat() if between else None,
            "latest": between[1].isoformat() if between else None,
            "meter": None if meter is None else round(meter, 1),
            "risk_min_days": limits.risk_min_days,
        },
    )


def _between(outlook: Outlook) -> tuple[date, date] | None:
    """The days between which the usage is reached, by the spread of the rate of use."""
    left, fast, slow = outlook.left, outlook.use.fast_km_per_day, outlook.use.slow_km_per_day
    if left is None or left <= 0.0 or fast is None or slow is None:
        return None
    return outlook.day_after(left, fast), outlook.day_after(left, slow)


def _sentence(unit: Unit, outlook: Outlook, reached: date) -> str:
    chance = f"{100 * outlook.level:g} %"
    if outlook.from_start:
        when = f"at the last look on {day(unit.seen.on)}" if unit.seen else "when it was fitted"
        return f"The chance of being outside was {chance} or more already {when}."
    meter = outlook.meter_at(outlook.left or 0.0)
    at = "" if meter is None else f" at {meter:,.0f} {outlook.unit}"
    verb = "is reached" if outlook.left and outlook.left > 0.0 else "was reached"
    return f"A {chance} chance of being outside {verb} about {day(reached)}{at}."


def _bounds(between: tuple[date, date] | None, soonest: date | None) -> str:
    said = ""
    if between and between[0] != between[1]:
        said += f" By its rate of use: {day(between[0])} to {day(between[1])}."
    if soonest:
        said += f" The policy lets risk ask for a look from {day(soonest)} on."
    return said
