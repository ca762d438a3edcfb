"""Sources and files of trips in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.imports.trips.manner import DECIMALS, DELIMITERS, ITEM, TIME_FORMS, WRITTEN
from fleet.imports.trips.progress import Progress
from fleet.models import TripSource


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source with how its files read; empty words where none was read yet. ``columns``: our label, its heading."""

    name: str
    signs: str
    columns: tuple[tuple[str, str], ...]


def source_rows(rows: Iterable[TripSource]) -> list[SourceRow]:
    """Sources as a table shows them."""
    return [_source_row(row) for row in rows]


def _source_row(row: TripSource) -> SourceRow:
    kept = row.manner
    if not kept:
        return SourceRow(row.name, "", ())
    clock = "offset in each time" if kept["zone"] == WRITTEN else kept["zone"]
    signs = f"{DELIMITERS[kept['delimiter']]}, decimal {DECIMALS[kept['decimal']]}, {TIME_FORMS[kept['time_form']]}"
    columns = tuple((_label(name, kept["units"]), heading) for name, heading in kept["columns"].items() if name in ITEM)
    return SourceRow(row.name, f"{signs}, {clock}", columns)


def _label(name: str, units: dict[str, str]) -> str:
    item = ITEM[name]
    unit = units.get(name) or next(iter(item.units), "")
    return f"{item.label} ({unit})" if unit else item.label


def sentence_of(run: Progress) -> str:
    """Where a file stands, as its page opens."""
    if run.job is None or run.job.state == "done":
        return _outcome(run)
    if run.job.state == "queued":
        return "It waits for a worker to take it."
    if run.job.state == "running":
        return "The trial run reads the file. No trip is written." if run.trial else "The trips are being brought in."
    if run.trial:
        return "The trial run was stopped. No trip is written."
    if not run.lines:
        return "It was stopped before the first part was stored. No trip is written."
    return f"It was stopped after {_lines(run.lines)}. The {_trips(run.accepted)} of them stay on record."


def _outcome(run: Progress) -> str:
    be = "would be" if run.trial else "was" if run.refused == 1 else "were"
    refused = f"; {_lines(run.refused)} {be} refused" if run.refused else ""
    if not run.lines:
        return "The file has a heading and no lines."
    if not run.accepted:
        return f"None of the {_lines(run.lines)} {'can be' if run.trial else 'was'} brought in. Nothing is written."
    if not run.new + run.changed:
        start = "It would change" if run.trial else "It is in, and changed"
        return f"{start} nothing: {_trips(run.known)} known already{refused}."
    counts = f"{_trips(run.new)} new to the record, {run.changed:,} corrected, {run.known:,} known already{refused}."
    return f"Nothing is written yet. It would bring {counts}" if run.trial else f"It is in: {counts}"


def _trips(count: int) -> str:
    return f"{count:,} trip{'' if count == 1 else 's'}"


def _lines(count: int) -> str:
    return f"{count:,} line{'' if count == 1 else 's'}"
