"""A run as it is kept: columns, rows and sentences whose numbers were rounded once and for all.

A number becomes its text here and nowhere else. Every file is written from that text, so that all agree to the digit.
"""

import gzip
import hashlib
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

Value = str | int | float | date | None
# Rises with every change of what is kept.
FORMAT = 1
# Fills of charts, of which no two print in the same grey.
SHADES = ("#1F3A5F", "#EBC48A", "#7F90A8", "#FFFFFF")


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``kind``: text, number or day; numbers carry ``unit`` and ``places``; ``key`` heads the CSV."""

    key: str
    label: str
    meaning: str
    kind: str = "text"
    unit: str = ""
    places: int = 0


@dataclass(frozen=True, slots=True)
class Chart:
    """How a table is drawn. ``kind``: 'bars' of one or more columns, 'range' of a value with its limits (low, high).

    ``where``: columns and the texts that a row must hold to be drawn; such rows stand together. ``label`` names
    them; a row so named ``leave_out``, such as a sum, is not drawn beside others.
    """

    kind: str
    label: str
    values: tuple[str, ...]
    title: str
    axis: str
    where: tuple[tuple[str, str], ...] = ()
    leave_out: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One tidy table. ``rows`` hold texts: a number as it is printed, a day in ISO form, nothing as ''."""

    name: str
    title: str
    says: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    chart: Chart | None = None

    def at(self, key: str) -> int:
        """The place of a column."""
        return next(i for i, column in enumerate(self.columns) if column.key == key)

    def named(self) -> list[dict[str, str]]:
        """The rows by column."""
        return [dict(zip((column.key for column in self.columns), row, strict=True)) for row in self.rows]

    def drawn(self) -> list[int]:
        """Places of the rows that the chart shows."""
        wanted = [(self.at(key), text) for key, text in self.chart.where] if self.chart else []
        found = [i for i, row in enumerate(self.rows) if all(row[at] == text for at, text in wanted)]
        named = self.at(self.chart.label) if self.chart else 0
        kept = [i for i in found if self.chart and self.rows[i][named] != self.chart.leave_out]
        return kept or found


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Everything that a run froze. ``number`` is the run's; days and moments are in ISO form."""

    number: int
    title: str
    month: str
    scope: str
    made_at: str
    code_version: str
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]
    tables: tuple[Table, ...]


def table(
    name: str,
    title: str,
    says: str,
    columns: Sequence[Column],
    rows: Iterable[Sequence[Value]],
    *,
    note: str = "",
    chart: Chart | None = None,
) -> Table:
    """A table from plain values: the one place where they are rounded."""
    held = tuple(columns)
    texts = tuple(tuple(text_of(value, column) for value, column in zip(row, held, strict=True)) for row in rows)
    return Table(name, title, says, held, texts, note, chart)


def text_of(value: Value, column: Column) -> str:
    """A value as its column prints it; nothing where it is missing or has no bound."""
    if value is None or value == "":
        return ""
    if column.kind != "number":
        return value.isoformat() if isinstance(value, date) else str(value)
    number = float(value)  # type: ignore[arg-type]
    if not math.isfinite(number):
        return ""
    text = f"{number:.{column.places}f}"
    return text.lstrip("-") if float(text) == 0 else text


def grouped(cell: str, column: Column) -> str:
    """A frozen cell as people read it."""
    return thousands(cell) if column.kind == "number" and cell else cell


def thousands(number: str) -> str:
    """A number's text with its thousands apart and a true minus, to the same digit."""
    whole, dot, rest = number.removeprefix("-").partition(".")
    return f"{'−' if number.startswith('-') else ''}{int(whole):,}{dot}{rest}"


def freeze(run: Run) -> tuple[bytes, str]:
    """The run as gzipped canonical JSON, and the SHA-256 of the JSON; the same run gives the same bytes."""
    plain = json.dumps(
        {"format": FORMAT, **asdict(run)}, sort_keys=True, ensure_ascii=False, separators=(",", ":")
    ).encode()
    return gzip.compress(plain, mtime=0), hashlib.sha256(plain).hexdigest()


def thaw(kept: bytes) -> Run:
    """The run from its bytes."""
    said: dict[str, Any] = json.loads(gzip.decompress(kept))
    if said.pop("format") != FORMAT:
        raise ValueError("This run was frozen in another format.")
    tables = tuple(_table(row) for row in said.pop("tables"))
    lists: dict[str, Any] = {name: tuple(said.pop(name)) for name in ("sentences", "cautions")}
    return Run(**said, **lists, tables=tables)


def _table(said: dict[str, Any]) -> Table:
    chart = said["chart"]
    if chart:
        chart = Chart(
            **{**chart, "values": tuple(chart["values"]), "where": tuple(tuple(pair) for pair in chart["where"])}
        )
    columns = tuple(Column(**column) for column in said["columns"])
    rows = tuple(tuple(row) for row in said["rows"])
    return Table(**{**said, "columns": columns, "rows": rows, "chart": chart})
