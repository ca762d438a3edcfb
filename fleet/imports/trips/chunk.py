"""One chunk of a file of trips: from bytes to what is to be written, and the lines that are refused."""

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from fleet.imports.report import harmless
from fleet.imports.trips.limits import Refusals, refuse_impossible
from fleet.imports.trips.lines import Cells, Lines, read_cells, split_lines
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.order import SENTENCES, sort_out, stretches_of
from fleet.imports.trips.reading import read_trips
from fleet.imports.workbook import csv_text
from fleet.selectors.trips import Flags, Ints, Trips, cell_of, key_of, trips_around

# What is counted of a chunk, of a file, of a batch.
COUNTS = ("lines", "accepted", "refused", "new", "changed")
NOT_WHOLE = (
    "It does not have as many cells as the heading, or a quotation mark is left open. "
    "A line break inside a cell cannot be read."
)


@dataclass(frozen=True, slots=True)
class Known:
    """What every chunk of a file is held against: the trucks by number, and the meters that were replaced."""

    trucks: Mapping[str, tuple[int, int, int]]
    replaced: dict[int, list[int]]


@dataclass(frozen=True, slots=True)
class Chunk:
    """A chunk read: each line with its trip or with its refusal."""

    lines: Lines
    trips: Trips
    refusals: Refusals

    @property
    def count(self) -> int:
        """Lines that are not blank."""
        return len(self.lines.numbers)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a chunk: trips to write, sorted, and counts. accepted + refused = lines.

    ``whole`` says of each new trip whether no other trip of its truck-month is on record.
    """

    new: Trips
    changed: Trips
    whole: Flags
    lines: int
    accepted: int

    @property
    def counts(self) -> dict[str, int]:
        """By what they count."""
        refused = self.lines - self.accepted
        values = (self.lines, self.accepted, refused, len(self.new), len(self.changed))
        return dict(zip(COUNTS, values, strict=True))


def read_chunk(block: bytes, before: int, width: int, places: Mapping[str, int], manner: Manner, known: Known) -> Chunk:
    """Split, read and hold against what no truck does; needs nothing but its arguments and the time."""
    lines, clean = split_lines(block, manner.delimiter, width, before)
    count = int(lines.whole.sum())
    some = Refusals.none_of(count)
    read = read_rows(read_cells(clean, count, manner.delimiter, width, places), manner, known, some)
    if count == len(lines.numbers):
        return Chunk(lines, read, some)
    refusals = Refusals(np.zeros(len(lines.numbers), np.int64), some.sentences)
    refusals.reason[lines.whole] = some.reason
    refusals.add(~lines.whole, NOT_WHOLE)
    trips = np.zeros(len(lines.numbers), read.dtype)
    trips[lines.whole] = read
    return Chunk(lines, trips, refusals)


def read_rows(cells: Mapping[str, Cells], manner: Manner, known: Known, refusals: Refusals) -> Trips:
    """Cells to trips, held against what no truck does."""
    trips = read_trips(cells, manner, known.trucks, refusals)
    refuse_impossible(trips, time.time(), refusals)
    return trips


def hold_against_record(chunk: Chunk, known: Known) -> Outcome:
    """Hold a chunk's trips against each other and against those on record; refuses more lines of the chunk."""
    fine = np.flatnonzero(chunk.refusals.fine)
    key = key_of(chunk.trips[fine])
    if (key[1:] <= key[:-1]).any():
        order = np.argsort(key, kind="stable")
        fine, key = fine[order], key[order]
    # Of lines with one truck and start the last counts; the others are taken as accepted, and replaced at once.
    last = np.append(key[1:] != key[:-1], True) if len(key) else np.zeros(0, bool)
    trips = chunk.trips[fine[last]]
    stored = trips_around(stretches_of(trips))
    sorted_out = sort_out(trips, stored, known.replaced)
    for wrong, sentence in SENTENCES.items():
        bad = np.zeros(chunk.count, bool)
        bad[_with_twins(fine, last, sorted_out.wrong == wrong)] = True
        chunk.refusals.add(bad, sentence)
    accepted = int(chunk.refusals.fine.sum())
    new = trips[sorted_out.new]
    # The neighbours of a stretch are among those on record, so a month that has any shows one of them.
    whole = ~np.isin(cell_of(new), cell_of(stored))
    return Outcome(new, trips[sorted_out.changed], whole, chunk.count, accepted)


def refused_lines(chunk: Chunk) -> Iterator[tuple[int, str, str]]:
    """Number, reason and original of each refused line."""
    reasons = chunk.refusals.reason
    for place in np.flatnonzero(reasons).tolist():
        yield int(chunk.lines.numbers[place]), chunk.refusals.sentences[reasons[place]], chunk.lines.original(place)


def refused_csv(chunk: Chunk) -> str:
    """The refused lines as CSV, ready to be mended; cells that a spreadsheet program would run are made harmless."""
    return csv_text((str(number), reason, harmless(original)) for number, reason, original in refused_lines(chunk))


def _with_twins(fine: Ints, last: np.ndarray, wrong: np.ndarray) -> Ints:
    """Places of the lines whose trip is wrong, with those that the same truck and start replaced."""
    if not wrong.any():
        return fine[:0]
    group = np.cumsum(np.concatenate([[0], last[:-1]])).astype(np.int64)
    return np.asarray(fine[wrong[group]])
