"""Cells to numbers in the kept units, all lines of a chunk at once."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pyarrow as pa
from pyarrow import compute

from fleet.imports.trips.clocks import read_clock
from fleet.imports.trips.limits import Refusals
from fleet.imports.trips.lines import BLANK, Cells, flags_of, numbers_of
from fleet.imports.trips.manner import FIELD, ITEM, TIME_FORMS, WRITTEN, Manner, factor_of
from fleet.selectors.trips import FAR_S, TRIP, Flags, Ints, Trips

Floats = npt.NDArray[np.float64]
UNCLEAR = "falls in an hour that the clock skips or passes twice there. Write its offset, such as +02:00."
Trucks = Mapping[str, tuple[int, int, int]]
_NUMBER = r"^[+-]?([0-9]{1,20}\.?[0-9]{0,20}|\.[0-9]{1,20})([eE][+-]?[0-9]{1,2})?$"


def read_trips(cells: Mapping[str, Cells], manner: Manner, trucks: Trucks, out: Refusals) -> Trips:
    """Trips in the kept units, one for each line; `out` takes what cannot be read."""
    trips = np.empty(len(cells["truck"]), TRIP)
    for name in FIELD.values():
        trips[name] = np.nan
    trips["truck"], since, until = _trucks(cells["truck"], trucks, out)
    start = read_times(cells["start"], manner, "start", out)
    trips["started_s"] = start
    for item, field in FIELD.items():
        if item in cells:
            trips[field] = _kept_numbers(cells[item], item, manner, out)
    untimed = np.isnan(trips["duration_s"])
    if "end" in cells:
        end = read_times(cells["end"], manner, "end", out, needed=untimed)
        trips["duration_s"][untimed] = (end - start)[untimed]
    else:
        out.add(untimed, "The duration is blank.")
    for item in ("distance", "fuel"):
        out.add(np.isnan(trips[FIELD[item]]), f"The {item} is blank.")
    out.add(start < since, "The truck was not in service yet: was the device's clock behind?")
    out.add(start > until, "The truck had retired by then.")
    return trips


def read_times(cells: Cells, manner: Manner, item: str, out: Refusals, needed: Flags | None = None) -> Ints:
    """Seconds since 1970 in UTC; 0 on lines that are refused, and on those that are blank where none is needed."""
    label = ITEM[item].label.lower()
    blank = _blank(cells)
    out.add(blank if needed is None else blank & needed, f"The {label} is blank.")
    if manner.time_form == "seconds":
        values = _numbers(cells, ".")
        bad = ~(np.abs(values) < 1e11)
        out.add(bad & ~blank, f"The {label} is not read as {TIME_FORMS['seconds']}.")
        return np.where(bad, 0, values).astype(np.int64)
    seconds, read, unclear = read_clock(cells, manner.time_form, manner.zone)
    out.add(unclear, f"The {label} {UNCLEAR}")
    out.add(~read & ~blank, f"The {label} is not read as {_example(manner)}.")
    return np.where(read, seconds, 0)


def _blank(cells: Cells) -> Flags:
    return flags_of(cells.is_null()) if cells.null_count else np.zeros(len(cells), bool)


def _example(manner: Manner) -> str:
    example = TIME_FORMS[manner.time_form]
    return f"{example}+02:00, with its offset" if manner.zone == WRITTEN else f"{example}, without offset"


def _kept_numbers(cells: Cells, item: str, manner: Manner, out: Refusals) -> Floats:
    values = _numbers(cells, manner.decimal)
    bad = ~np.isfinite(values)
    if bad.any():
        sign = "comma" if manner.decimal == "," else "point"
        out.add(bad & ~_blank(cells), f"The {ITEM[item].label.lower()} is no number, with decimal {sign}.")
    offset, factor = factor_of(item, manner.units.get(item, ITEM[item].units[0]))
    return values if (offset, factor) == (0.0, 1.0) else (values - offset) * factor


def _numbers(cells: Cells, decimal: str) -> Floats:
    """Numbers, with NaN where a cell is blank or holds none."""
    if decimal == ",":
        pointed = compute.match_substring(cells, ".")
        cells = compute.if_else(pointed, BLANK, compute.replace_substring(cells, ",", ".", max_replacements=1))
    try:
        values = cells.cast(pa.float64())
    except pa.ArrowInvalid:  # some hold none: find out which
        cells = compute.utf8_trim_whitespace(cells)
        values = compute.if_else(compute.match_substring_regex(cells, _NUMBER), cells, BLANK).cast(pa.float64())
    return numbers_of(values, blank=np.nan)


def _trucks(cells: Cells, trucks: Trucks, out: Refusals) -> tuple[Ints, Ints, Ints]:
    """Primary key, first and last second of service of each line's truck."""
    coded = cells.dictionary_encode()
    names = [(name or "").strip() for name in coded.dictionary.to_pylist()]
    codes = numbers_of(coded.indices, blank=len(names))
    found = np.array([trucks.get(name, (0, -FAR_S, FAR_S)) for name in [*names, ""]], np.int64)[codes]
    out.add(np.array([not name for name in [*names, ""]])[codes], "The truck is blank.")
    out.add(found[:, 0] == 0, "You manage no truck with this number.")
    return found[:, 0], found[:, 1], found[:, 2]
