"""How a file of trips is understood: columns, units, separator, decimal sign, time zone."""

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


@dataclass(frozen=True, slots=True)
class Item:
    """Something that a trip records: our name, its label, its units with the kept one first, its other headings.

    ``field`` is where a trip on record keeps it; truck, start and end are kept in other ways.
    """

    name: str
    label: str
    units: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    field: str = ""
    required: bool = False


TIME_UNITS = ("s", "min", "h")
ITEMS = (
    Item("truck", "Truck", (), ("unit_number", "unit", "truck_number", "vehicle"), required=True),
    Item("start", "Start", (), ("started_at", "start_time", "began", "departure"), required=True),
    Item("end", "End", (), ("ended_at", "end_time", "arrival")),
    Item("duration", "Duration", TIME_UNITS, ("driving_time", "trip_time"), "duration_s"),
    Item("distance", "Distance", QUANTITIES["distance"], ("trip_distance",), "distance_km", required=True),
    Item("fuel", "Fuel", QUANTITIES["volume"], ("fuel_used", "litres", "fuel_volume"), "fuel_l", required=True),
    Item("payload", "Payload", QUANTITIES["mass"], ("load", "cargo"), "payload_t"),
    Item("ascent", "Ascent", QUANTITIES["height"], ("climb", "height_gained"), "ascent_m"),
    Item("idle", "Idling", TIME_UNITS, ("idle_time", "idling", "standstill"), "idle_s"),
    Item(
        "temperature",
        "Air temperature",
        ("°C", "°F"),
        ("air_temperature", "ambient", "outside_temperature"),
        "temperature_c",
    ),
    Item("odometer", "Odometer at start", QUANTITIES["distance"], ("odometer_start", "start_odometer"), "odometer_km"),
)
ITEM = {item.name: item for item in ITEMS}
# Numbers of a trip, by item, where a trip on record keeps them.
FIELD = {item.name: item.field for item in ITEMS if item.field}


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
        places = {}
        for item, name in self.columns.items():
            if name not in heading:
                raise FleetError(
                    "trip_column_gone", "columns", f"The file has no column '{name[:60]}'. Choose another."
                )
            if heading.count(name) > 1:
                sentence = f"Two columns are headed '{name[:60]}'. Name them apart in the file."
                raise FleetError("trip_heading_twice", "columns", sentence)
            places[item] = heading.index(name)
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
