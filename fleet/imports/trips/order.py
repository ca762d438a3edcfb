"""Trips of one truck against each other: overlaps, odometers that run back, clocks that jump."""

from dataclasses import dataclass

import numpy as np

from fleet.imports.trips.limits import MOST_SPEED_KMH
from fleet.selectors.trips import FLOATS, Flags, Ints, Trips, key_of

# Seconds by which devices round the ends of trips, and km by which they round meters.
ROUNDED_S = 60.0
ROUNDED_KM = 2.0
# What is wrong with a trip, and the sentence of each.
NOTHING, OVERLAP, METER_BACK, JUMP = range(4)
SENTENCES = {
    OVERLAP: "It overlaps another trip of this truck.",
    METER_BACK: "The odometer runs back against the truck's trip before or after it. If the meter was replaced, record "
    "that first.",
    JUMP: f"The odometer moved faster than {MOST_SPEED_KMH:.0f} km/h since the truck's trip before, or until the next: "
    "a clock or a meter jumped.",
}
# A gap in which a truck's trips are looked up as separate stretches.
GAP_S = 2 * 86_400
# Truck to the moments from which a new meter counts.
Replaced = dict[int, list[int]]


@dataclass(frozen=True, slots=True)
class Sorted:
    """What becomes of new trips: `wrong` is NOTHING or a key of SENTENCES; `new` and `changed` are to be written."""

    wrong: Ints
    new: Flags
    changed: Flags


def stretches_of(trips: Trips) -> Ints:
    """Truck, first and last start of runs of trips without long gaps; trips sorted by truck and start."""
    if not len(trips):
        return np.zeros((0, 3), np.int64)
    truck, start = trips["truck"], trips["started_s"]
    fresh = np.flatnonzero((np.diff(truck, prepend=truck[0] - 1) != 0) | (np.diff(start, prepend=start[0]) > GAP_S))
    last = np.append(fresh[1:], len(trips)) - 1
    return np.stack([truck[fresh], start[fresh], start[last]], axis=1)


def sort_out(trips: Trips, stored: Trips, replaced: Replaced) -> Sorted:
    """Hold new trips against each other and against those on record.

    trips, stored : sorted by truck and start, each start of a truck once; `stored` holds the neighbours.
    Trips that are on record as they are stay; of two that cannot both be, the one that begins earlier stays.
    """
    key, old = key_of(trips), key_of(stored)
    place = np.searchsorted(old, key)
    inside = place < len(old)
    known = np.zeros(len(key), bool)
    known[inside] = old[place[inside]] == key[inside]
    same = known.copy()
    for name in FLOATS:
        ours, theirs = trips[name][known], stored[name][place[known]]
        same[known] &= (ours == theirs) | (np.isnan(ours) & np.isnan(theirs))
    settled = same.copy()
    while True:
        wrong = _wrong(trips, settled, stored, place, known, replaced)
        more = (wrong == NOTHING) & ~settled
        settled |= more
        # What was refused is held against what stays in the end, so that the same file again finds nothing to do.
        if not wrong.any() or not more.any():
            break
    fine = wrong == NOTHING
    return Sorted(wrong, fine & ~known, fine & known & ~same)


def _wrong(trips: Trips, settled: Flags, stored: Trips, place: Ints, known: Flags, replaced: Replaced) -> Ints:
    standing = np.ones(len(stored), bool)
    standing[place[known]] = False
    wrong, judged = np.zeros(len(trips), np.int64), np.ones(len(trips), bool)
    while True:
        wrong[judged] = _conflicts(trips[judged], settled[judged], stored[standing], replaced)
        # The original of a correction that is refused stays, and the others must be held against it as well.
        refused = judged & known & (wrong != NOTHING)
        if not refused.any():
            return wrong
        standing[place[refused]] = True
        judged &= ~refused


def _conflicts(trips: Trips, same: Flags, stored: Trips, replaced: Replaced) -> Ints:
    both = np.concatenate([trips, stored])
    fixed = np.concatenate([same, np.ones(len(stored), bool)])
    order = np.argsort(key_of(both), kind="stable")
    row = both[order]
    wrong = np.zeros(len(both), np.int64)
    suspects = np.unique(row["truck"][1:][_adjacent(row, fixed[order])])
    for truck in suspects.tolist():
        begin, end = np.searchsorted(row["truck"], [truck, truck + 1]).tolist()
        own = slice(begin, end)
        wrong[order[own]] = _walk(row[own], fixed[order[own]], replaced.get(truck, []))
    return wrong[: len(trips)]


def _adjacent(row: Trips, fixed: Flags) -> Flags:
    """Whether each trip but the first conflicts with the one before it, not both on record already."""
    truck, start, odometer = row["truck"], row["started_s"], row["odometer_km"]
    gap = np.diff(start)
    late = start[:-1] + row["duration_s"][:-1] > start[1:] + ROUNDED_S
    moved = np.diff(odometer)
    # Where some trips lack the meter, its last known value is held against: let the walk see to it.
    unknown = np.isnan(odometer)
    mixed = unknown[1:] != unknown[:-1]
    with np.errstate(invalid="ignore"):
        jumped = (moved < -ROUNDED_KM) | (moved > MOST_SPEED_KMH * gap / 3600 + ROUNDED_KM)
    conflict = (late | jumped | mixed) & (np.diff(truck) == 0)
    return conflict & ~(fixed[1:] & fixed[:-1])


Meter = tuple[int, float]


def _walk(row: Trips, fixed: Flags, replaced: list[int]) -> Ints:
    """One truck's trips in order of start: each against the last that stays, and against the next on record."""
    wrong = np.zeros(len(row), np.int64)
    starts, ends = row["started_s"].tolist(), (row["started_s"] + row["duration_s"]).tolist()
    values = row["odometer_km"].tolist()
    meters = [None if value != value else (start, value) for start, value in zip(starts, values, strict=True)]
    stays = fixed.tolist()
    next_start, next_meter = _ahead(starts, meters, stays)
    last_end: float = -np.inf
    last_meter: Meter | None = None
    for index, start in enumerate(starts):
        meter = meters[index]
        if not stays[index]:
            if start + ROUNDED_S < last_end or ends[index] > next_start[index] + ROUNDED_S:
                wrong[index] = OVERLAP
            else:
                before = _meter_wrong(last_meter, meter, replaced)
                wrong[index] = before or _meter_wrong(meter, next_meter[index], replaced)
        if not wrong[index]:
            last_end = max(last_end, ends[index])
            last_meter = meter or last_meter
    return wrong


def _ahead(starts: list[int], meters: list[Meter | None], stays: list[bool]) -> tuple[list[float], list[Meter | None]]:
    """For each trip the start of the next on record, and the next meter on record."""
    next_start: list[float] = [np.inf] * len(starts)
    next_meter: list[Meter | None] = [None] * len(starts)
    start: float = np.inf
    meter: Meter | None = None
    for index in range(len(starts) - 1, -1, -1):
        next_start[index], next_meter[index] = start, meter
        if stays[index]:
            start, meter = starts[index], meters[index] or meter
    return next_start, next_meter


def _meter_wrong(before: Meter | None, after: Meter | None, replaced: list[int]) -> int:
    if before is None or after is None or any(before[0] < moment <= after[0] for moment in replaced):
        return NOTHING
    moved, gap = after[1] - before[1], after[0] - before[0]
    if moved < -ROUNDED_KM:
        return METER_BACK
    return JUMP if moved > MOST_SPEED_KMH * gap / 3600 + ROUNDED_KM else NOTHING
