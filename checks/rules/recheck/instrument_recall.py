"""A unit whose verdict rests on an instrument that came back wrong."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day


def instrument_recall(unit: Unit, limits: Limits) -> Due | None:
    """See a unit again whose verdict changes with the error found, as soon as after a void check."""
    recalled = unit.recalled
    if recalled is None:
        return None
    on = recalled.on + timedelta(days=limits.void_days)
    return Due(
        rule="instrument_recall",
        on=on,
        by_date=on,
        sentence=(
            f"Judged with {recalled.instrument}, which came back wrong: a verdict changes with the error found. "
            f"See it again within {limits.void_days} days of the recall of {day(recalled.on)}."
        ),
        inputs={
            "recalled_on": recalled.on.isoformat(),
            "instrument": recalled.instrument,
            "recall": recalled.recall,
            "void_days": limits.void_days,
        },
    )
