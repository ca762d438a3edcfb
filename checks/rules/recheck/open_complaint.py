"""A complaint about the truck that no check has answered."""

from datetime import timedelta

from checks.rules.recheck.unit import Due, Limits, Unit, day

# Kinds of complaint that a wastegate outside its window can bring about, so that a check answers them. Noise and all
# else has many nearer causes and asks for no check by itself. Common practice, no source.
ASKING = frozenset({"fuel_economy", "low_power", "smoke", "over_temperature"})


def open_complaint(unit: Unit, limits: Limits) -> Due | None:
    """Answer a complaint of an asking kind with a check, unless one was made since it was raised."""
    raised = unit.complaint_raised_on
    if raised is None or (unit.seen is not None and unit.seen.on >= raised and unit.seen.state != "void"):
        return None
    on = raised + timedelta(days=limits.complaint_days)
    return Due(
        rule="open_complaint",
        on=on,
        by_date=on,
        sentence=(
            f"A complaint ({unit.complaint_kind}) is open since {day(raised)}: "
            f"answer it within {limits.complaint_days} days."
        ),
        inputs={
            "raised_on": raised.isoformat(),
            "kind": unit.complaint_kind,
            "complaint_days": limits.complaint_days,
        },
    )
