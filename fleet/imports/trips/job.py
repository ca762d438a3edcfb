"""Bringing a file of trips in, chunk by chunk: each chunk's rows, counts and place are one transaction."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db.models import F

from fleet.imports.trips.chunk import COUNTS, Chunk, Known, hold_against_record, read_chunk, refused_csv
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.staging import chunks_after, heading_number, heading_of, headings_of, keep_refused, source_of
from fleet.imports.trips.store import lock_trips, write_trips
from fleet.imports.trips.told import keep_told, told_by
from fleet.jobs.registry import kinds
from fleet.jobs.requests import enqueue
from fleet.jobs.run import Run
from fleet.models import TripImport, User
from fleet.selectors.trips import replaced_meters, trucks_by_number

KIND = "bring-trips"
# The checks form the moments; we know their job by its name alone.
FORM_MOMENTS = "form-moments"


@dataclass(frozen=True, slots=True)
class _Work:
    """A file, and all that its chunks need."""

    sent: TripImport
    manner: Manner
    width: int
    places: dict[str, int]
    known: Known
    trial: bool


def bring_trips(run: Run) -> dict[str, Any]:
    """Bring a file in, or with ``trial`` only say what would become of it.

    Arguments: ``key`` of the import; ``trial``. The job's chunk holds the byte where the next chunk begins, the lines
    read, and a trial's counts; those of a file brought in stand with the file. A trial does not know the file's own
    earlier chunks: overlaps from one chunk to another show only for real.
    """
    work = _begin(run)
    path = source_of(work.sent.key)
    at = run.chunk or dict.fromkeys(COUNTS, 0) | _first_place(path)
    for end, chunk in _read_ahead(work, path, at):
        at = _bring_chunk(run, work, at, end, chunk)
    run.beat(done=at["seen"], total=at["seen"], message=work.sent.name[:60])
    told = told_by(work.sent.key, trial=work.trial, until=at["offset"]).kept()
    if work.trial:
        return {name: at[name] for name in COUNTS} | told
    counts: dict[str, Any] = TripImport.objects.values(*COUNTS).get(pk=work.sent.pk)
    if counts["new"] + counts["changed"]:
        form_later(work.sent.sent_by)
    return counts | told


def form_later(user: User) -> None:
    """Ask for the moments of the truck-months just touched."""
    if FORM_MOMENTS in kinds():
        enqueue(kind=FORM_MOMENTS, arguments={}, key=FORM_MOMENTS, requested_by=user)


def _begin(run: Run) -> _Work:
    sent = TripImport.objects.select_related("sent_by").get(pk=run.arguments["key"])
    manner = Manner(**sent.manner)
    names = headings_of(sent.key, manner.delimiter)
    trial = bool(run.arguments.get("trial"))
    return _Work(sent, manner, len(names), manner.places(names), known_to(sent.sent_by), trial)


def _first_place(path: Path) -> dict[str, int]:
    return {"offset": heading_of(path)[1], "read": heading_number(path), "seen": 0}


def _read_ahead(work: _Work, path: Path, at: dict[str, int]) -> Iterator[tuple[int, Chunk]]:
    """Chunks with the offset of their end; while one is stored, the next is read on another core."""

    def read(block: bytes, before: int) -> Chunk:
        return read_chunk(block, before, work.width, work.places, work.manner, work.known)

    with ThreadPoolExecutor(1) as reader:
        before, waiting = at["read"], None
        for end, block in chunks_after(path, at["offset"]):
            asked = (end, reader.submit(read, block, before))
            before += block.count(b"\n")
            if waiting:
                yield waiting[0], waiting[1].result()
            waiting = asked
        if waiting:
            yield waiting[0], waiting[1].result()


def _bring_chunk(run: Run, work: _Work, at: dict[str, int], end: int, chunk: Chunk) -> dict[str, int]:
    """Store one chunk; return the place after it."""
    after = at | {"offset": end, "read": at["read"] + chunk.lines.lines_read, "seen": at["seen"] + chunk.count}
    total = max(after["seen"], round(after["seen"] * work.sent.size_bytes / end))
    if work.trial:
        outcome = hold_against_record(chunk, work.known)
        after |= {name: at[name] + count for name, count in outcome.counts.items()}
    with run.step(chunk=after, done=after["seen"], total=total, message=work.sent.name[:60]):
        if not work.trial:
            lock_trips()
            outcome = hold_against_record(chunk, work.known)
            write_trips(outcome.new, outcome.changed, outcome.whole)
            grown = {name: F(name) + count for name, count in outcome.counts.items()}
            TripImport.objects.filter(pk=work.sent.pk).update(**grown)
        keep_refused(work.sent.key, at["offset"], refused_csv(chunk), trial=work.trial)
        keep_told(work.sent.key, at["offset"], chunk, outcome, trial=work.trial)
    return after


def known_to(user: User) -> Known:
    """What the lines of a person's file are held against."""
    return Known(trucks_by_number(user), replaced_meters())
