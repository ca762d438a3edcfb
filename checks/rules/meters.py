"""How far an engine had run at any moment: its truck's meter readings, joined over replaced meters and moves."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, nan

# Between readings usage is interpolated; beyond the first and last it is carried on at the pace nearby, so far.
REACH_DAYS = 45.0
# The pace nearby is taken over readings that span so much.
PACE_DAYS = 90.0


@dataclass(frozen=True, slots=True)
class Line:
    """Usage run up by moments in days, both in rising order of time; in km or h, from the first reading's value on.

    ``whole`` says that no meter was replaced, so that what was run up is what the meter shows.
    """

    days: tuple[float, ...]
    run: tuple[float, ...]
    whole: bool = True

    def at(self, day: float) -> float:
        """Usage run up at a moment; nan where no reading is near enough to say."""
        days = self.days
        if not days:
            return nan
        if days[0] <= day <= days[-1]:
            above = bisect_left(days, day)
            if days[above] == day:
                return self.run[above]
            share = (day - days[above - 1]) / (days[above] - days[above - 1])
            return self.run[above - 1] + share * (self.run[above] - self.run[above - 1])
        beyond = days[0] - day if day < days[0] else day - days[-1]
        if beyond > REACH_DAYS or (len(days) == 1 and beyond > 1.0):
            return nan
        if day < days[0]:
            return self.run[0] - beyond * self._pace(
                0, max(bisect_right(days, days[0] + PACE_DAYS) - 1, min(1, len(days) - 1))
            )
        return self.run[-1] + beyond * self._pace(_before_last(days), -1)

    def _pace(self, first: int, last: int) -> float:
        span = self.days[last] - self.days[first]
        return max(0.0, (self.run[last] - self.run[first]) / span) if span > 0.0 else 0.0


EMPTY = Line((), ())


def line_of(readings: Iterable[tuple[float, float, bool]]) -> Line:
    """Join a truck's readings.

    Parameters
    ----------
    readings : (day, meter, whether it is the first of a new meter), in any order; of two at one moment the later
        listed holds. A new meter that begins no lower than the old one ended goes on from it. The way driven between
        the old meter's last reading and the new one's first is taken at the pace of the days before.
    """
    known: dict[float, tuple[float, bool]] = {}
    for day, value, fresh in readings:
        known[day] = (value, fresh or (day in known and known[day][1]))
    days: list[float] = []
    run: list[float] = []
    whole, last = True, 0.0
    for day in sorted(known):
        value, fresh = known[day]
        if not days:
            step = value
        elif fresh and value < last:
            step, whole = _unread(days, run, day), False
        else:
            step = value - last
        run.append((run[-1] if run else 0.0) + step)
        days.append(day)
        last = value
    return Line(tuple(days), tuple(run), whole)


def _before_last(days: Sequence[float]) -> int:
    """Where the stretch before the last reading begins: at least one reading back, if there is one."""
    return min(bisect_left(days, days[-1] - PACE_DAYS), max(len(days) - 2, 0))


def _unread(days: Sequence[float], run: Sequence[float], day: float) -> float:
    first = _before_last(days)
    span = days[-1] - days[first]
    return max(0.0, (run[-1] - run[first]) / span * (day - days[-1])) if span > 0.0 else 0.0


def joined(parts: Sequence[tuple[Line, float, float]]) -> Line:
    """One engine's usage through the trucks in which it ran.

    Parameters
    ----------
    parts : (line of the truck, day in, day out), in the order of time; inf where it still runs there. Out of a truck
        it stands still. Where a part's beginning cannot be read the line breaks, and only what follows is kept.
    """
    if len(parts) == 1 and parts[0][2] == inf:
        return parts[0][0]
    days: list[float] = []
    run: list[float] = []
    for line, entered, end in parts:
        if not line.days or line.days[0] >= end:
            days, run = [], []
            continue
        begin, start = entered, line.at(entered)
        if start != start:
            days, run, begin, start = [], [], line.days[0], line.run[0]
        base = run[-1] if run else 0.0
        inside = [(day, value) for day, value in zip(line.days, line.run, strict=True) if begin < day < end]
        stop = line.at(end) if end < inf else start
        ends = [(end, stop)] if end < inf and stop == stop else []
        for day, value in [(begin, start), *inside, *ends]:
            days.append(day)
            run.append(base + value - start)
    return Line(tuple(days), tuple(run), whole=False)
