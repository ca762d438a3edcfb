"""A reading too close to a limit for its instruments."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit


def undecided(unit: Unit, limits: Limits) -> Due | None:
    """Repeat a check that could not decide."""
    if unit.seen is None or unit.seen.state != "undecided":
        return None
    on = unit.seen.on + timedelta(days=limits.undecided_days)
    return Due(
        rule="undecided",
        on=on,
        by_date=on,
        sentence=(
            f"The last check was undecided: repeat it within {limits.undecided_days} days, "
            "with better instruments if there are any."
        ),
        inputs={"checked_on": unit.seen.on.isoformat(), "undecided_days": limits.undecided_days},
    )
