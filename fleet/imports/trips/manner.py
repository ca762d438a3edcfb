"""How a file of trips is understood: columns, units, separator, decimal sign, time zone."""

import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any
from zoneinfo import available_timezones

from checks.measurement.units import QUANTITIES, convert
from fleet.problems import FleetError

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
DECIMALS = {".": "point", ",": "comma"}
WRITTEN = "written"
# How times are written, with an example each; with slashes only a person can tell day from month.
TIME_FORMS = {
    "iso": "2026-03-14 08:30:00",
    "day_dots": "14.03.2026 08:30",
    "day_slashes": "14/03/2026 08:30",
    "month_slashes": "03/14/2026 08:30",
    "seconds": "1773477000 (seconds since 1970)",
}


_DAY = re.compile(r"\s*(\d{4}-\d\d-\d\d|\d{1,2}\.\d{1,2}\.\d{4}|\d{1,2}/\d{1,2}/\d{4})\b")


@dataclass(frozen=True, slots=True)
class Item:
    """Something that a trip records: our name, its label, its units with the kept one first, its other headings."""

    name: str
    label: str
    units: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    required: bool = False


TIME_UNITS = ("s", "min", "h")
ITEMS = (
    Item("truck", "Truck", (), ("unit_number", "unit", "truck_number", "vehicle"), required=True),
    Item("start", "Start", (), ("started_at", "start_time", "began", "departure"), required=True),
    Item("end", "End", (), ("ended_at", "end_time", "arrival")),
    Item("duration", "Duration", TIME_UNITS, ("driving_time", "trip_time")),
    Item("distance", "Distance", QUANTITIES["distance"], ("trip_distance",), required=True),
    Item("fuel", "Fuel", QUANTITIES["volume"], ("fuel_used", "litres", "fuel_volume"), required=True),
    Item("payload", "Payload", QUANTITIES["mass"], ("load", "cargo")),
    Item("ascent", "Ascent", QUANTITIES["height"], ("climb", "height_gained")),
    Item("idle", "Idling", TIME_UNITS, ("idle_time", "idling", "standstill")),
    Item("temperature", "Air temperature", ("°C", "°F"), ("air_temperature", "ambient", "outside_temperature")),
    Item("odometer", "Odometer at start", QUANTITIES["distance"], ("odometer_start", "start_odometer")),
)
ITEM = {item.name: item for item in ITEMS}
# Units as headings spell them out.
UNIT_WORDS = (
    ("kilometres", "km"), ("kilometers", "km"), ("miles", "mi"), ("litres", "L"), ("liters", "L"), ("gallons", "gal"),
    ("us_gal", "gal"), ("imperial_gallons", "imp gal"), ("tonnes", "t"), ("lbs", "lb"), ("pounds", "lb"),
    ("metres", "m"), ("meters", "m"), ("feet", "ft"), ("seconds", "s"), ("sec", "s"), ("minutes", "min"),
    ("mins", "min"), ("hours", "h"), ("hrs", "h"), ("celsius", "°C"), ("fahrenheit", "°F"),
)  # fmt: skip
NUMBERS = tuple(item.name for item in ITEMS if item.units)


@dataclass(frozen=True, slots=True)
class Manner:
    """How a file is understood. ``columns``: heading by item; ``units``: unit by item, where not the kept one.

    ``zone`` is an IANA name, or 'written' where each time carries its own offset.
    """

    delimiter: str = ","
    decimal: str = "."
    zone: str = "UTC"
    time_form: str = "iso"
    columns: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)

    def kept(self) -> dict[str, Any]:
        """As it is remembered with a source."""
        return asdict(self)

    def places(self, heading: list[str]) -> dict[str, int]:
        """Where each item stands under a heading. Raises FleetError on field ``columns``."""
        names = [name.strip() for name in heading]
        places = {}
        for item, name in self.columns.items():
            if name not in names:
                raise FleetError(
                    "trip_column_gone", "columns", f"The file has no column '{name[:60]}'. Choose another."
                )
            if names.count(name) > 1:
                raise FleetError(
                    "trip_heading_twice",
                    "columns",
                    f"Two columns are headed '{name[:60]}'. Name them apart in the file.",
                )
            places[item] = names.index(name)
        return places


def checked(manner: Manner) -> Manner:
    """The same manner, held against what it needs. Raises FleetError."""
    if manner.delimiter not in DELIMITERS or manner.decimal not in DECIMALS or manner.time_form not in TIME_FORMS:
        raise FleetError(
            "trip_manner_unknown", "", "Choose separator, decimal sign and form of the times from the lists."
        )
    if manner.delimiter == manner.decimal:
        raise FleetError("trip_signs_clash", "decimal", "A comma cannot both separate cells and stand in numbers.")
    if manner.zone != WRITTEN and manner.zone not in available_timezones():
        raise FleetError(
            "trip_zone_unknown", "zone", f"'{manner.zone[:40]}' is no time zone. Write it as Europe/London."
        )
    missing = [item.label.lower() for item in ITEMS if item.required and item.name not in manner.columns]
    if not {"end", "duration"} & set(manner.columns):
        missing.append("end or duration")
    if missing:
        raise FleetError("trip_columns_missing", "columns", f"Say which column holds: {', '.join(missing)}.")
    twice = [name for name in manner.columns.values() if list(manner.columns.values()).count(name) > 1]
    if twice:
        raise FleetError("trip_column_twice", "columns", f"The column '{twice[0][:60]}' cannot hold two things.")
    wrong = [name for name, unit in manner.units.items() if name not in ITEM or unit not in ITEM[name].units]
    if wrong:
        raise FleetError("trip_unit_unknown", "units", f"Choose the unit of {wrong[0][:40]} from its list.")
    return manner


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
            columns[item] = name.strip()
            if unit:
                units[item] = unit
    known = {item: name for item, name in remembered.get("columns", {}).items() if name in map(str.strip, heading)}
    if known:
        columns, units = known, dict(remembered.get("units", {}))
    names = heading_names(heading)
    sample = [line for line in sample if len(line) == len(names)]
    started = [line[names.index(columns["start"])] for line in sample if "start" in columns]
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


def heading_names(heading: Iterable[str]) -> list[str]:
    """Headings without the blanks around them."""
    return [name.strip() for name in heading]


def factor_of(item: str, unit: str) -> tuple[float, float]:
    """(offset, factor): kept value = (written value - offset) * factor.

    Source of 32 and 1.8: NIST SP 811 (2008), appendix B.8, both exact.
    """
    kept = ITEM[item].units[0]
    if unit == "°F":
        return 32.0, 1 / 1.8
    if unit == kept:
        return 0.0, 1.0
    if unit == "h":
        return 0.0, 60 * convert(1, "min", "s")
    return 0.0, convert(1, unit, kept)


def unit_told(heading: str, item: str) -> str:
    """The unit of an item that ends a heading, as in 'Load (kg)' or 'way_miles'; empty where there is none."""
    plain = _plain(heading)
    for word, unit in _words_of(item):
        if plain == word or plain.endswith(f"_{word}"):
            return unit
    return ""


def _words_of(item: str) -> list[tuple[str, str]]:
    """Words for the units of an item, longest first, so that 'imp gal' is no 'gal'."""
    units = ITEM[item].units
    words = [(_plain(unit), unit) for unit in units] + [(word, unit) for word, unit in UNIT_WORDS if unit in units]
    return sorted(words, key=lambda pair: -len(pair[0]))


def _plain(text: str) -> str:
    return re.sub(r"[^0-9a-z]+", "_", text.casefold()).strip("_")


def _meant(heading: str) -> tuple[str, str]:
    plain = _plain(heading)
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
