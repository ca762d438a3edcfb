"""How fast a truck runs, from its own odometer."""

from collections.abc import Sequence
from datetime import date, timedelta
from statistics import median

from checks.rules.recheck.unit import Use

WINDOW = timedelta(days=90)
# Shorter spans say more of one trip than of the truck.
SHORTEST_DAYS = 14
# Parked for the whole window: still count a little, or its usage would never come due.
LEAST_KM_PER_DAY = 1.0
# More readings than this are thinned out evenly: pairs grow with the square, and the median hardly moves.
READINGS_MOST = 30
# Fewer slopes than this say nothing of how the rate varies.
SLOPES_FEWEST = 5


def use_of(
    readings: Sequence[tuple[date, float]], *, fallback_km_per_day: float, least: float = LEAST_KM_PER_DAY
) -> Use:
    """Rate of use from the trailing 90 days of odometer readings; of hour meters, with h wherever it says km.

    Parameters
    ----------
    readings : (day, odometer in km) in the order of time, since the meter was last replaced
    fallback_km_per_day : used where the readings span less than 14 days
    least : where the truck stood still

    Returns
    -------
    Use, with the last reading to go on from, and with the spread of the slopes where there are some

    Source
    ------
    Theil and Sen: the median of the slopes between pairs of readings, here at least 14 days apart, so that one
    mistyped reading does not move it.
    """
    if not readings:
        return Use(km_per_day=fallback_km_per_day, source="fleet")
    last_on, last_km = readings[-1]
    recent = [(day, value) for day, value in readings if day >= last_on - WINDOW]
    recent = recent[:: -(-len(recent) // READINGS_MOST)]
    slopes = [
        (later_km - first_km) / (later - first).days
        for place, (first, first_km) in enumerate(recent)
        for later, later_km in recent[place + 1 :]
        if (later - first).days >= SHORTEST_DAYS
    ]
    if not slopes:
        return Use(km_per_day=fallback_km_per_day, source="fleet", odometer_km=last_km, on=last_on)
    rate = max(median(slopes), least)
    slow, fast = _middle(sorted(slopes)) if len(slopes) >= SLOPES_FEWEST else (None, None)
    return Use(
        km_per_day=rate,
        source="truck",
        odometer_km=last_km,
        on=last_on,
        slow_km_per_day=None if slow is None else max(slow, least),
        fast_km_per_day=None if fast is None else max(fast, least),
    )


def _middle(slopes: Sequence[float]) -> tuple[float, float]:
    """Bounds of the middle 80 % of slopes in rising order."""
    tail = len(slopes) // 10
    return slopes[tail], slopes[-1 - tail]
