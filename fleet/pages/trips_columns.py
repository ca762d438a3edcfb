"""The columns of a file of trips: what each is said to hold, and how its first value reads by it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fleet.imports.trips.guessing import unit_told
from fleet.imports.trips.manner import ITEM, ITEMS, Manner
from fleet.imports.trips.preview import FirstCells, Preview
from fleet.pages.trips_forms import SignsForm
from fleet.problems import FleetError
from fleet.selectors.trip_lists import time_words

TIMES = ("duration", "idle")


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A column of the file with the two choices that say what it holds, and its first value as understood."""

    place: int
    heading: str
    cells: tuple[str, ...]
    item: str
    unit: str
    units: tuple[tuple[str, str], ...]
    reads: str


Choices = list[tuple[str, str]]


def choices_of(sent: Mapping[str, str], headings: list[str]) -> Choices:
    """Item and unit of each column as a form was sent; what is not known counts as not chosen.

    A column that held nothing with a unit until now has the unit that its heading tells.
    """
    out = []
    for place, heading in enumerate(headings):
        known = ITEM.get(sent.get(f"column-{place}", ""))
        unit = sent.get(f"unit-{place}", "")
        if known and unit not in known.units:
            unit = unit_told(heading, known.name)
        out.append((known.name, unit) if known else ("", ""))
    return out


def choices_in(manner: Manner, headings: list[str]) -> Choices:
    """The same as a manner has them."""
    meant = {heading: item for item, heading in manner.columns.items()}
    items = [meant.pop(heading, "") for heading in headings]
    return [(item, manner.units.get(item, "")) for item in items]


def manner_from(signs: Mapping[str, str], headings: list[str], choices: Choices) -> Manner:
    """How a file reads by what was chosen. Raises FleetError where one thing was chosen for two columns."""
    columns: dict[str, str] = {}
    for heading, (item, _) in zip(headings, choices, strict=True):
        if item in columns:
            label = ITEM[item].label.lower()
            sentence = f"Two columns are said to hold the {label}: '{columns[item]}' and '{heading}'. Keep one of them."
            raise FleetError("trip_item_twice", "columns", sentence[:300])
        if item:
            columns[item] = heading
    units = {item: unit for item, unit in choices if item and unit}
    return Manner(columns=columns, units=units, **{name: signs[name] for name in SignsForm.base_fields})


def column_rows(seen: Preview, choices: Choices) -> list[ColumnRow]:
    """The columns of a file, each with its choices and its first value as understood."""
    pairs = zip(seen.columns, choices, strict=True)
    return [_column_row(place, column, *chosen, seen) for place, (column, chosen) in enumerate(pairs)]


def _column_row(place: int, column: FirstCells, item: str, unit: str, seen: Preview) -> ColumnRow:
    units = ITEM[item].units if item else ()
    shown = unit or (units[0] if units else "")
    words = tuple((name, "US gal" if name == "gal" else name) for name in units)
    return ColumnRow(place, column.heading, column.cells[:3], item, shown, words, _reads(item, seen))


def _reads(item: str, seen: Preview) -> str:
    """The first value that could be read of an item, in the unit in which it is kept."""
    if not item or not seen.rows:
        return ""
    # An end is kept as the duration from the start.
    label = ITEM["duration" if item == "end" else item].label
    at = next((place for place, head in enumerate(seen.heads) if head.startswith(label)), None)
    value = next((cells[at] for _, cells, _ in seen.rows if at is not None and cells[at]), "")
    if not value:
        return "nothing that can be read"
    return f"{value} after the start" if item == "end" else f"{value} {_unit_of(item)}".strip()


def _unit_of(item: str) -> str:
    return "UTC" if item == "start" else "" if item in TIMES else next(iter(ITEM[item].units), "")


def with_times(seen: Preview) -> Preview:
    """The first lines with durations in hours and minutes instead of seconds."""
    places = [place for place, head in enumerate(seen.heads) if head.endswith("(s)")]
    heads = tuple(head.removesuffix(" (s)") for head in seen.heads)
    rows = tuple((number, tuple(_times(cells, places)), why) for number, cells, why in seen.rows)
    return replace(seen, heads=heads, rows=rows)


def _times(cells: tuple[str, ...], places: list[int]) -> list[str]:
    return [
        time_words(float(cell.replace(",", ""))) if cell and place in places else cell
        for place, cell in enumerate(cells)
    ]


def items() -> list[tuple[str, str]]:
    """What a column may hold, for a choice."""
    return [(item.name, item.label + (", needed" if item.required else "")) for item in ITEMS]
