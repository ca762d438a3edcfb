"""The first lines of a file of trips as they are understood."""

import csv
from dataclasses import dataclass

from fleet.imports.trips.chunk import hold_against_record, read_chunk, refused_lines
from fleet.imports.trips.job import known_to
from fleet.imports.trips.manner import FIELD, ITEM, Manner, checked
from fleet.imports.trips.staging import first_lines, heading_cells, heading_number, heading_of, source_of
from fleet.models import TripImport, User
from fleet.problems import FleetError

SHOWN = 12


@dataclass(frozen=True, slots=True)
class FirstCells:
    """A column of the file: its heading and its first cells."""

    heading: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """The first lines of a file as they are understood.

    ``rows`` are lists of texts under ``heads``, each with its refusal or an empty text; the counts are of the lines
    looked at. ``wrong`` says why the file cannot be read yet.
    """

    columns: tuple[FirstCells, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...], str], ...]
    lines: int
    refused: int
    wrong: str = ""


def preview(user: User, sent: TripImport, manner: Manner) -> Preview:
    """The first lines of a file as they are understood in a manner; writes nothing.

    Never refuses: what is wrong with the manner stands in ``wrong``, and the columns are told all the same.
    """
    path = source_of(sent.key)
    heading, offset = heading_of(path)
    names = heading_cells(heading, manner.delimiter)
    block = first_lines(path, offset)
    columns = _columns(names, block, manner.delimiter)
    try:
        places = checked(manner).places(names)
    except FleetError as refusal:
        return Preview(columns, (), (), 0, 0, refusal.sentence)
    known = known_to(user)
    chunk = read_chunk(block, heading_number(path), len(names), places, manner, known)
    outcome = hold_against_record(chunk, known)
    heads = ["Truck", "Start (UTC)", *(f"{ITEM[item].label} ({ITEM[item].units[0]})" for item in FIELD)]
    why = {number: reason for number, reason, _ in refused_lines(chunk)}
    trucks = {key: number for number, (key, *_) in known.trucks.items()}
    rows = []
    for place, number in enumerate(chunk.lines.numbers[:SHOWN].tolist()):
        trip = chunk.trips[place]
        start = str(trip["started_s"].astype("datetime64[s]")).replace("T", " ") if trip["started_s"] else ""
        # Without a start there is no duration to be told from an end.
        told = {name: trip[name] for name in FIELD.values() if start or name != FIELD["duration"]}
        values = (f"{told[name]:,.6g}" if told.get(name) == told.get(name, 0) else "" for name in FIELD.values())
        rows.append((number, (trucks.get(int(trip["truck"]), ""), start, *values), why.get(number, "")))
    return Preview(columns, tuple(heads), tuple(rows), outcome.lines, outcome.lines - outcome.accepted)


def _columns(names: list[str], block: bytes, delimiter: str) -> tuple[FirstCells, ...]:
    lines = list(csv.reader(block.decode(errors="replace").split("\n")[:4], delimiter=delimiter))
    return tuple(
        FirstCells(name[:60], tuple(line[place][:40] for line in lines if place < len(line)))
        for place, name in enumerate(names)
    )
