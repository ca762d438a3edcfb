"""Which column a heading means, and how its cells are read."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from fleet.imports.source import LONGEST_CELL, Line
from fleet.problems import FleetError
from fleet.services.meter import Meter, read_meter

HEADINGS_SHOWN = 12
# A spreadsheet program would run a cell that begins so.
FORMULA_STARTS = ("=", "+", "@", "-", "\t", "\r")


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, other headings that mean it, whether a file must have it, and a word on what it holds."""

    name: str
    aliases: tuple[str, ...] = ()
    required: bool = False
    holds: str = ""
    units: tuple[str, ...] = ()

    def headings(self) -> dict[str, str]:
        """Every heading that means this column, with the unit it names."""
        plain = (self.name, *self.aliases)
        return dict.fromkeys(plain, "") | {f"{name}_{unit}": unit for name in plain for unit in self.units}


@dataclass(frozen=True, slots=True)
class Layout:
    """Where each column of one file stands."""

    places: dict[str, int]
    units: dict[str, str]
    width: int
    unused: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one line by the name of their column; absent ones read as blank."""

    values: dict[str, str]
    units: dict[str, str] = field(default_factory=dict)

    def text(self, name: str, *, needed_for: str = "") -> str:
        """The cell's text. With `needed_for`, a blank one is refused, saying what it is needed for."""
        value = self.values.get(name, "").replace("\u00a0", " ").strip()
        if not value and needed_for:
            raise FleetError("cell_blank", name, f"The column '{name}' is blank; {needed_for} needs it.")
        if value.startswith(FORMULA_STARTS) or not value.isprintable():
            raise FleetError(
                "cell_not_plain", name, f"'{value[:40]}' in '{name}' is no plain text. Write letters or digits."
            )
        return value

    def word(self, name: str, words: dict[str, str], default: str = "") -> str:
        """One of a few words; `words` maps what may be written to what it means."""
        text = self.text(name).casefold()
        if not text:
            return default
        if text not in words:
            expected = ", ".join(dict.fromkeys(words))
            raise FleetError("word_unknown", name, f"'{text[:40]}' in '{name}' is not known. Write one of: {expected}.")
        return words[text]

    def flag(self, name: str, words: dict[str, bool]) -> bool:
        """Yes or no; no when blank."""
        return self.word(name, {word: word for word in words}, "no") in {word for word, meant in words.items() if meant}

    def needed_day(self, name: str, needed_for: str) -> date:
        """As `day`, but a blank cell is refused."""
        day = self.day(name)
        if day is None:
            raise FleetError("cell_blank", name, f"The column '{name}' is blank; {needed_for} needs it.")
        return day

    def day(self, name: str) -> date | None:
        """A day written 2026-03-14 or 14.03.2026; with slashes day and month could be mistaken for each other."""
        text = re.sub(r"[ T]0?0:00(:00)?(\.0+)?$", "", self.text(name))  # a spreadsheet's midnight
        if not text:
            return None
        for form in ("%Y-%m-%d", "%d.%m.%Y"):
            try:
                day = datetime.strptime(text, form).date()  # noqa: DTZ007
            except ValueError:
                continue
            if day.year >= 1950:
                return day
        raise FleetError("day_unknown", name, f"'{text[:40]}' in '{name}' is no day. Write it as 2026-03-14.")

    def meter(self, prefix: str = "") -> Meter:
        """Odometer and engine hours, in the unit of the heading, of the column odometer_unit, or km."""
        odometer, hours = f"{prefix}odometer", f"{prefix}engine_hours"
        unit = self.units.get(odometer) or self.text("odometer_unit") or "km"
        return read_meter(odometer=self._number(odometer), unit=unit, engine_hours=self._number(hours))

    def _number(self, name: str) -> str:
        return self.values.get(name, "").strip()


def lay_out(heading: Iterable[str], columns: Iterable[Column]) -> Layout:
    """Find each column in a heading. Raises FleetError on field ``file`` for what is missing or named twice."""
    meanings = {name: (column.name, unit) for column in columns for name, unit in column.headings().items()}
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    unused = []
    names = list(heading)
    for place, name in enumerate(names):
        meaning = meanings.get(plain_heading(name))
        if meaning is None:
            unused.append(name.strip()[:40])
        elif meaning[0] in places:
            raise FleetError("column_twice", "file", f"Two columns mean '{meaning[0]}'. Leave one out.")
        else:
            places[meaning[0]] = place
            units[meaning[0]] = meaning[1]
    missing = [column for column in columns if column.required and column.name not in places]
    if missing:
        wanted = "; ".join(" or ".join((column.name, *column.aliases)) for column in missing)
        raise FleetError(
            "columns_missing",
            "file",
            f"No heading of this file is one of: {wanted}. Rename the column that holds it; what all columns may be "
            f"called stands below. The file has: {_some(names)}.",
        )
    return Layout(places, units, len(names), tuple(filter(None, unused)))


def read_cells(line: Line, layout: Layout) -> Cells:
    """The cells of a line by column. Raises FleetError where their number or length cannot be right."""
    if len(line.cells) != layout.width:
        raise FleetError(
            "cells_miscounted", "",
            f"This line has {len(line.cells)} cells but the heading {layout.width}. "
            "Put cells that contain the separator in quotation marks.",
        )  # fmt: skip
    if any(len(cell) > LONGEST_CELL for cell in line.cells):
        raise FleetError(
            "cell_too_long", "", f"A cell has more than {LONGEST_CELL} characters. Is a quotation mark left open?"
        )
    return Cells({name: line.cells[place] for name, place in layout.places.items()}, layout.units)


def _some(headings: Sequence[str]) -> str:
    """The first of many headings, and how many more there are."""
    shown = ", ".join(name.strip()[:40] for name in headings[:HEADINGS_SHOWN])
    more = len(headings) - HEADINGS_SHOWN
    return f"{shown} and {more} more" if more > 0 else shown


def unused_notice(layout: Layout) -> tuple[str, ...]:
    """What to do about headings that mean nothing here, where there are any."""
    if not layout.unused:
        return ()
    return (
        f"Columns that are not used: {_some(layout.unused)}. Where one of them holds something, rename it as told "
        "under 'What the columns are called', and send the file again.",
    )


def plain_heading(heading: str) -> str:
    """A heading in small letters, digits and single underscores, as columns are named."""
    return re.sub(r"[^0-9a-z]+", "_", heading.casefold()).strip("_")
