"""A file of trips from its upload to the word to bring it in."""

import csv
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO

from django.db import transaction

from fleet.imports.trips.chunk import hold_against_record, read_chunk, refused_lines
from fleet.imports.trips.job import KIND, heading_cells, known_to
from fleet.imports.trips.manner import DELIMITERS, ITEM, Manner, checked, guessed, heading_names
from fleet.imports.trips.reading import FIELD
from fleet.imports.trips.staging import first_lines, heading_number, heading_of, keep, refused_parts, source_of
from fleet.jobs.requests import cancel, enqueue, retry
from fleet.models import Job, Membership, TripImport, User
from fleet.problems import FleetError
from fleet.selectors.scope import depots_of, require
from fleet.selectors.trips import trip_import
from fleet.services.trips import remember_source

SHOWN = 12
# A page has two choices for each.
MOST_COLUMNS = 300
STOPPED = (Job.State.FAILED, Job.State.CANCELLED)


@dataclass(frozen=True, slots=True)
class Understood:
    """A column of the file: its heading, what it is taken for, in which unit, and its first cells."""

    heading: str
    item: str
    label: str
    unit: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """The first lines of a file as they are understood.

    ``rows`` are lists of texts under ``heads``, each with its refusal or an empty text; the counts are of the lines
    looked at. ``wrong`` says why the file cannot be read yet.
    """

    columns: tuple[Understood, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...], str], ...]
    lines: int
    refused: int
    wrong: str = ""


def begin_import(*, user: User, source: str, name: str, upload: BinaryIO) -> TripImport:
    """Keep a file, and guess how it is understood. Raises FleetError on the fields ``source`` and ``file``."""
    require(user, Membership.Role.MANAGER)
    known = remember_source(user=user, name=source)
    key = uuid.uuid4()
    size = keep(key, upload)
    manner = guess(key, known.manner, zone=_clock_of(user))
    name = name.replace("\0", "")[:80] or "trips"
    return TripImport.objects.create(
        key=key, source=known, sent_by=user, name=name, size_bytes=size, manner=manner.kept()
    )


def _clock_of(user: User) -> str:
    """The time zone of the first depot that a person manages: what writes without offset most likely runs by it."""
    managed = depots_of(user, role=Membership.Role.MANAGER).order_by("name", "pk")
    return managed.values_list("time_zone", flat=True).first() or "UTC"


def guess(key: uuid.UUID, remembered: dict[str, Any], delimiter: str = "", zone: str = "UTC") -> Manner:
    """How a kept file is most likely meant, with the separator that a person chose or else the likeliest."""
    path = source_of(key)
    heading, offset = heading_of(path)
    delimiter = delimiter or _likely_delimiter(heading)
    sample = list(csv.reader(first_lines(path, offset).decode(errors="replace").split("\n")[:200], delimiter=delimiter))
    headings = heading_cells(heading, delimiter)
    if len(headings) > MOST_COLUMNS:
        sentence = f"The first line has {len(headings):,} columns, {MOST_COLUMNS} at most. Is this a table of trips?"
        raise FleetError("too_many_columns", "file", sentence)
    return guessed(headings, sample, delimiter, remembered, zone)


@transaction.atomic
def understand(*, user: User, key: uuid.UUID, manner: Manner) -> TripImport:
    """Read a file so from now on, and its source's next files as well. Raises FleetError."""
    sent = trip_import(user, key)
    _refuse_begun(sent)
    checked(manner)
    manner.places(heading_cells(heading_of(source_of(key))[0], manner.delimiter))
    if sent.manner != manner.kept():
        sent.trial_job = None  # its trial run was made in another manner
    sent.manner = manner.kept()
    sent.save(update_fields=["manner", "trial_job"])
    remember_source(user=user, name=sent.source.name, manner=manner.kept())
    return sent


def preview(user: User, sent: TripImport, manner: Manner | None = None) -> Preview:
    """The first lines of a file as they are understood, or as they would be in another manner; writes nothing.

    Never refuses: what is wrong with the manner stands in ``wrong``, and the columns are told all the same.
    """
    manner, path = manner or Manner(**sent.manner), source_of(sent.key)
    heading, offset = heading_of(path)
    names = heading_cells(heading, manner.delimiter)
    block = first_lines(path, offset)
    columns = _columns(manner, names, block)
    try:
        places = checked(manner).places(names)
    except FleetError as refusal:
        return Preview(columns, (), (), 0, 0, refusal.sentence)
    chunk = read_chunk(block, heading_number(path), len(names), places, manner, known_to(user))
    outcome = hold_against_record(chunk, known_to(user))
    heads = ["Truck", "Start (UTC)", *(f"{ITEM[item].label} ({ITEM[item].units[0]})" for item in FIELD)]
    why = {number: reason for number, reason, _ in refused_lines(chunk)}
    trucks = {key: number for number, (key, *_) in known_to(user).trucks.items()}
    rows = []
    for place, number in enumerate(chunk.lines.numbers[:SHOWN].tolist()):
        trip = chunk.trips[place]
        start = str(trip["started_s"].astype("datetime64[s]")).replace("T", " ") if trip["started_s"] else ""
        # Without a start there is no duration to be told from an end.
        told = {name: trip[name] for name in FIELD.values() if start or name != FIELD["duration"]}
        values = (f"{told[name]:,.6g}" if told.get(name) == told.get(name, 0) else "" for name in FIELD.values())
        rows.append((number, (trucks.get(int(trip["truck"]), ""), start, *values), why.get(number, "")))
    return Preview(columns, tuple(heads), tuple(rows), outcome.lines, outcome.lines - outcome.accepted)


def headings_of(key: uuid.UUID, delimiter: str) -> list[str]:
    """The headings of a kept file's columns under a separator, without the blanks around them."""
    return heading_names(heading_cells(heading_of(source_of(key))[0], delimiter))


def ask(*, user: User, key: uuid.UUID, trial: bool) -> Job:
    """Ask a worker to bring a file in, or to make its trial run; asked twice, it is one job.

    A file that was stopped on its way in goes on after its last chunk. Raises FleetError: 404 for somebody else's file,
    409 ``trip_import_begun`` where it is on its way in or in already, 400 where its columns are not understood yet.
    """
    require(user, Membership.Role.MANAGER)
    with transaction.atomic():
        sent = TripImport.objects.select_for_update().get(pk=trip_import(user, key).pk)
        source_of(key)
        if not trial and sent.job and sent.job.state in STOPPED:
            retry(job=sent.job)
            return sent.job
        _refuse_begun(sent)
        checked(Manner(**sent.manner))
        word = "trial" if trial else "real"
        arguments = {"key": str(key), "trial": trial}
        job = enqueue(kind=KIND, arguments=arguments, key=f"{word} {key}", requested_by=user)
        setattr(sent, "trial_job" if trial else "job", job)
        sent.save(update_fields=["job", "trial_job"])
    return job


def cancel_import(*, user: User, key: uuid.UUID) -> None:
    """Stop a file on its way in, or its trial run; chunks already in stay. Raises FleetError 409 when nothing runs."""
    sent = trip_import(user, key)
    job = sent.job or sent.trial_job
    if job is None:
        raise FleetError("job_is_over", "", "This file is not on its way in; there is nothing to cancel.", status=409)
    cancel(job=job)


def refused_report(user: User, key: uuid.UUID, *, trial: bool) -> Iterator[str]:
    """The refused lines so far as CSV with the columns line, reason, original, part by part."""
    sent = trip_import(user, key)
    job = sent.trial_job if trial else sent.job
    return refused_parts(key, trial=trial, until=(job.chunk or {}).get("offset", 0) if job else 0)


def _refuse_begun(sent: TripImport) -> None:
    if sent.job_id:
        raise FleetError("trip_import_begun", "", "This file is on its way in already. Look at its job.", status=409)


def _likely_delimiter(heading: str) -> str:
    return max(DELIMITERS, key=heading.count)


def _columns(manner: Manner, names: list[str], block: bytes) -> tuple[Understood, ...]:
    lines = list(csv.reader(block.decode(errors="replace").split("\n")[:4], delimiter=manner.delimiter))
    meant: dict[str, Any] = {heading: item for item, heading in manner.columns.items()}
    out = []
    for place, name in enumerate(names):
        item = ITEM.get(meant.get(name.strip(), ""))
        unit = manner.units.get(item.name, item.units[0]) if item and item.units else ""
        cells = tuple(line[place][:40] for line in lines if place < len(line))
        out.append(Understood(name.strip()[:60], item.name if item else "", item.label if item else "", unit, cells))
    return tuple(out)
