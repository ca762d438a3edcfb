"""What a file of trips most likely means, by its headings and its first lines; a person sees it and may correct it."""

import csv
import re
import uuid
from typing import Any

from fleet.imports.columns import plain_heading
from fleet.imports.trips.manner import DELIMITERS, ITEM, ITEMS, WRITTEN, Manner
from fleet.imports.trips.staging import first_lines, heading_cells, heading_of, source_of
from fleet.problems import FleetError

# A page has two choices for each.
MOST_COLUMNS = 300
# Units as headings spell them out.
UNIT_WORDS = (
    ("kilometres", "km"), ("kilometers", "km"), ("miles", "mi"), ("litres", "L"), ("liters", "L"), ("gallons", "gal"),
    ("us_gal", "gal"), ("imperial_gallons", "imp gal"), ("tonnes", "t"), ("lbs", "lb"), ("pounds", "lb"),
    ("metres", "m"), ("meters", "m"), ("feet", "ft"), ("seconds", "s"), ("sec", "s"), ("minutes", "min"),
    ("mins", "min"), ("hours", "h"), ("hrs", "h"), ("celsius", "°C"), ("fahrenheit", "°F"),
)  # fmt: skip
_DAY = re.compile(r"\s*(\d{4}-\d\d-\d\d|\d{1,2}\.\d{1,2}\.\d{4}|\d{1,2}/\d{1,2}/\d{4})\b")


def guess(key: uuid.UUID, remembered: dict[str, Any], delimiter: str = "", zone: str = "UTC") -> Manner:
    """How a kept file is most likely meant, with the separator that a person chose or else the likeliest."""
    path = source_of(key)
    heading, offset = heading_of(path)
    delimiter = delimiter or max(DELIMITERS, key=heading.count)
    sample = list(csv.reader(first_lines(path, offset).decode(errors="replace").split("\n")[:200], delimiter=delimiter))
    headings = heading_cells(heading, delimiter)
    if len(headings) > MOST_COLUMNS:
        sentence = f"The first line has {len(headings):,} columns, {MOST_COLUMNS} at most. Is this a table of trips?"
        raise FleetError("too_many_columns", "file", sentence)
    return guessed(headings, sample, delimiter, remembered, zone)


def guessed(
    heading: list[str], sample: list[list[str]], delimiter: str, remembered: dict[str, Any], zone: str = "UTC"
) -> Manner:
    """What a file most likely means: as remembered where its source is known, else by its headings and first lines.

    ``zone``: whose clock times without an offset show.
    """
    columns, units = {}, {}
    for name in heading:
        item, unit = _meant(name)
        if item and item not in columns:
            columns[item] = name
            if unit:
                units[item] = unit
    known = {item: name for item, name in remembered.get("columns", {}).items() if name in heading}
    if known:
        columns, units = known, dict(remembered.get("units", {}))
    sample = [line for line in sample if len(line) == len(heading)]
    started = [line[heading.index(columns["start"])] for line in sample if "start" in columns]
    # Whether or not a heading is known, how the file writes days and numbers shows in its cells.
    cells = [cell for line in sample for cell in line]
    started = started or [cell for cell in cells if _DAY.match(cell)]
    form, zone = _time_form(started, zone)
    commas = any(re.fullmatch(r"\s*-?\d+,\d+\s*", cell) for cell in cells)
    manner = Manner(delimiter, "," if commas and delimiter != "," else ".", zone, form, columns, units)
    if known:
        kept = {name: remembered[name] for name in ("zone", "time_form", "decimal") if name in remembered}
        manner = Manner(**manner.kept() | kept)
    return manner


def unit_told(heading: str, item: str) -> str:
    """The unit of an item that ends a heading, as in 'Load (kg)' or 'way_miles'; empty where there is none."""
    plain = plain_heading(heading)
    for word, unit in _words_of(item):
        if plain == word or plain.endswith(f"_{word}"):
            return unit
    return ""


def _words_of(item: str) -> list[tuple[str, str]]:
    """Words for the units of an item, longest first, so that 'imp gal' is no 'gal'."""
    units = ITEM[item].units
    words = [(plain_heading(unit), unit) for unit in units] + [
        (word, unit) for word, unit in UNIT_WORDS if unit in units
    ]
    return sorted(words, key=lambda pair: -len(pair[0]))


def _meant(heading: str) -> tuple[str, str]:
    plain = plain_heading(heading)
    for item in ITEMS:
        if plain in (item.name, *item.aliases):
            return item.name, ""
    for item in ITEMS:
        for word, unit in _words_of(item.name):
            if plain.removesuffix(f"_{word}") in (item.name, *item.aliases) and plain.endswith(f"_{word}"):
                return item.name, unit
    return "", ""


def _time_form(texts: list[str], zone: str) -> tuple[str, str]:
    text = next((text.strip() for text in texts if text.strip()), "")
    if text.isdigit():
        return "seconds", "UTC"
    zone = WRITTEN if re.search(r"(Z|[+-]\d\d:?\d\d)$", text) and len(text) > 16 else zone
    if re.match(r"\d{1,2}\.\d{1,2}\.\d{4}", text):
        return "day_dots", zone
    if re.match(r"\d{1,2}/\d{1,2}/\d{4}", text):
        # 14/03 can only be a day first; 03/04 is taken so as well and shown for a person to correct.
        first = [int(found[1]) for t in texts if (found := re.match(r"\s*\d+/(\d+)/", t))]
        return ("month_slashes" if any(day > 12 for day in first) else "day_slashes"), zone
    return "iso", zone
