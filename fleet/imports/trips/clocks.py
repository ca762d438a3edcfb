"""Written times to seconds since 1970, all lines of a chunk at once."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pyarrow as pa
from pyarrow import compute

from fleet.imports.trips.lines import BLANK, Cells, flags_of, numbers_of
from fleet.imports.trips.manner import WRITTEN
from fleet.selectors.trips import Flags, Ints

DAY_S = 86_400
LAST_DAY = 80_000
_TIME = (
    r"(?P<H>\d{1,2}):(?P<M>\d{2})(?::(?P<S>\d{2})(?:[.,]\d{1,9})?)?"
    r"\s?(?P<half>[AaPp][Mm])?\s?(?P<offset>Z|[+-]\d{2}:?\d{2}|[+-]\d{2})?$"
)
_DATES = {
    "iso": r"^(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})[ T]",
    "day_dots": r"^(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4}),?[ T]",
    "day_slashes": r"^(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>\d{4}),?[ T]",
    "month_slashes": r"^(?P<m>\d{1,2})/(?P<d>\d{1,2})/(?P<y>\d{4}),?[ T]",
}


def read_clock(cells: Cells, form: str, zone: str) -> tuple[Ints, Flags, Flags]:
    """Seconds since 1970 in UTC, which could be read, and which of the others the change of the clock makes unclear.

    With `zone` 'written' each time needs its offset, otherwise none may have one: `zone` is said to be its clock's.
    """
    if form == "iso" and zone in {WRITTEN, "UTC"}:
        try:
            return _at_once(cells, zone)
        except pa.ArrowInvalid:  # some cannot be read, or are written in another way: take them apart
            pass
    wall, read, offset, offset_known = _taken_apart(cells, form)
    unclear = np.zeros(len(wall), bool)
    if zone == WRITTEN:
        return wall - offset, read & offset_known, unclear
    read &= ~offset_known
    if zone == "UTC":
        return wall, read, unclear
    seconds, unclear = _from_wall_clock(wall, read, ZoneInfo(zone))
    return seconds, read & ~unclear, read & unclear


def _at_once(cells: Cells, zone: str) -> tuple[Ints, Flags, Flags]:
    moments = cells.cast(pa.timestamp("us", "UTC" if zone == WRITTEN else None)).cast(pa.int64())
    read = flags_of(moments.is_valid())
    return numbers_of(moments) // 1_000_000, read, np.zeros(len(cells), bool)


def _taken_apart(cells: Cells, form: str) -> tuple[Ints, Flags, Ints, Flags]:
    """Seconds on the wall's clock, which could be read, the written offsets and which are written."""
    parts = compute.extract_regex(compute.utf8_trim_whitespace(cells), _DATES[form] + _TIME)
    read = flags_of(parts.is_valid())
    year, month, day, hour, minute, second = (_whole(parts.field(name)) for name in "ymdHMS")
    halved, after_noon = _matches(parts.field("half"), "."), _matches(parts.field("half"), "[Pp]")
    read &= ~halved | ((hour >= 1) & (hour <= 12))
    hour = np.where(halved, hour % 12 + 12 * after_noon, hour)
    read &= (month >= 1) & (month <= 12) & (hour < 24) & (minute < 60) & (second < 60)
    months = 12 * (year - 1970) + np.clip(month, 1, 12) - 1
    first, following = (
        at.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64) for at in (months, months + 1)
    )
    read &= (day >= 1) & (first + day <= following)
    offset = parts.field("offset")
    wall = DAY_S * (first + day - 1) + 3600 * hour + 60 * minute + second
    return wall, read, _offsets(offset), _matches(offset, ".")


def _whole(texts: Cells) -> Ints:
    return numbers_of(compute.if_else(compute.match_substring_regex(texts, "^$"), BLANK, texts).cast(pa.int64()))


def _matches(texts: Cells, pattern: str) -> Flags:
    return flags_of(compute.match_substring_regex(texts, pattern))


def _offsets(texts: Cells) -> Ints:
    """Few are different: each is read once."""
    coded = texts.dictionary_encode()
    signed = [(text[0] == "-", text[1:].replace(":", "")) for text in (t or "Z" for t in coded.dictionary.to_pylist())]
    seconds = [(-1) ** minus * (3600 * int(d[:2] or 0) + 60 * int(d[2:] or 0)) for minus, d in signed]
    return np.array([*seconds, 0], np.int64)[numbers_of(coded.indices, blank=len(seconds))]


def _from_wall_clock(wall: Ints, read: Flags, zone: ZoneInfo) -> tuple[Ints, Flags]:
    """UTC of times on a wall's clock; unclear are those that it skips or passes twice."""
    days, place = np.unique(np.where(read, wall // DAY_S, 0), return_inverse=True)
    # Far outside, where no calendar of zones reaches, the time is refused later for its year.
    offset = np.array([_offset_all_day(int(day), zone) for day in np.clip(days, 0, LAST_DAY)], np.float64)[place]
    unclear = np.zeros(len(wall), bool)
    # On the few days on which the clock changes each time is asked for on its own.
    for index in np.flatnonzero(np.isnan(offset)).tolist():
        before, after = (_offset_s(int(wall[index]), zone, fold) for fold in (0, 1))
        offset[index], unclear[index] = before, before != after
    return wall - offset.astype(np.int64), unclear


def _offset_all_day(day: int, zone: ZoneInfo) -> float:
    """Seconds between a zone's clock and UTC on a day since 1970; not a number where it changes."""
    ends = {_offset_s(second, zone, fold) for second in (DAY_S * day, DAY_S * (day + 1)) for fold in (0, 1)}
    return float(ends.pop()) if len(ends) == 1 else float("nan")


def _offset_s(wall_s: int, zone: ZoneInfo, fold: int) -> int:
    at = datetime(1970, 1, 1, tzinfo=UTC).replace(tzinfo=zone, fold=fold) + timedelta(seconds=wall_s)
    offset = at.replace(fold=fold).utcoffset()
    return int(offset.total_seconds()) if offset is not None else 0
