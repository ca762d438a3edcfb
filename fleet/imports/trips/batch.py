"""A batch of trips from a program: written at once, each row with its outcome, and once only for one key."""

import hashlib
import json
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
from django.db import IntegrityError, transaction

from fleet.imports.trips.chunk import Chunk, Outcome, hold_against_record, read_rows
from fleet.imports.trips.job import form_later, known_to
from fleet.imports.trips.limits import Refusals
from fleet.imports.trips.lines import Lines
from fleet.imports.trips.manner import FIELD, WRITTEN, Manner
from fleet.imports.trips.store import lock_trips, write_trips
from fleet.models import Membership, TripImport, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.selectors.trips import key_of
from fleet.services.trips import remember_source

MOST_ROWS = 5_000
# A row's fields by what they record; the names carry the units.
FIELDS = {"truck": "truck", "start": "start", "end": "end"} | FIELD
NEW, CHANGED, KNOWN, REFUSED = "new", "changed", "known", "refused"
MANNER = Manner(zone=WRITTEN)


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What became of one row, counted from 1: new, changed, known (nothing to do) or refused, then with a reason."""

    row: int
    outcome: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class BatchOutcome:
    """What became of a batch; ``accepted`` + ``refused`` = ``lines``. ``repeated``: this key was answered before."""

    key: uuid.UUID
    lines: int
    accepted: int
    refused: int
    rows: tuple[RowOutcome, ...]
    repeated: bool = False


def bring_batch(*, user: User, source: str, key: uuid.UUID, rows: Sequence[Mapping[str, Any]]) -> BatchOutcome:
    """Bring up to `MOST_ROWS` trips in, in one transaction; the same key again only repeats the answer.

    rows : fields as `FIELDS` names them: ``truck`` (unit number), ``start`` and, unless ``duration_s`` is given,
    ``end`` as ISO 8601 with offset, the others as numbers in the unit of their name. ``distance_km`` and ``fuel_l`` are
    needed, the rest may be left out or null.

    Raises FleetError: 403 without a depot to manage; 400 ``batch_size`` for none or too many rows; 409
    ``batch_key_used`` where the key came with other rows, or from somebody else. A row that cannot be is refused in
    its outcome, and the others are taken.
    """
    require(user, Membership.Role.MANAGER)
    if not 0 < len(rows) <= MOST_ROWS:
        raise FleetError("batch_size", "rows", f"Send between 1 and {MOST_ROWS:,} rows at once.")
    texts = [json.dumps(row, ensure_ascii=False, default=str) for row in rows]
    digest = hashlib.sha256("\n".join([source, *texts]).encode(errors="replace")).hexdigest()
    if answered := TripImport.objects.filter(pk=key).first():
        return _again(user, answered, digest)
    chunk = _read(user, rows, texts)
    try:
        return _write(user, source, key, chunk, digest)
    except IntegrityError:  # the same batch came twice at once
        return _again(user, TripImport.objects.get(pk=key), digest)


@transaction.atomic
def _write(user: User, source: str, key: uuid.UUID, chunk: Chunk, digest: str) -> BatchOutcome:
    known = remember_source(user=user, name=source)
    sent = TripImport.objects.create(
        key=key, source=known, sent_by=user, name="batch", size_bytes=len(chunk.lines.text), manner={}, outcomes={}
    )
    lock_trips()
    outcome = hold_against_record(chunk, known_to(user))
    write_trips(outcome.new, outcome.changed, outcome.whole)
    for name, count in outcome.counts.items():
        setattr(sent, name, count)
    sent.outcomes = {"digest": digest, "rows": _verdicts(chunk, outcome), "reasons": chunk.refusals.sentences}
    sent.save()
    if len(outcome.new) + len(outcome.changed):
        form_later(user)
    return _told(sent)


def _read(user: User, rows: Sequence[Mapping[str, Any]], texts: list[str]) -> Chunk:
    text = "\n".join(texts).encode(errors="replace") + b"\n"
    ends = np.flatnonzero(np.frombuffer(text, np.uint8) == 10).astype(np.int64)
    begins = np.concatenate([[0], ends[:-1] + 1]).astype(np.int64)
    count = len(rows)
    lines = Lines(text, begins, ends, np.arange(1, count + 1), np.ones(count, bool), count)
    refusals = Refusals.none_of(count)
    named = [set(row) <= set(FIELDS.values()) if isinstance(row, Mapping) else False for row in rows]
    refusals.add(~np.array(named), f"A row is an object with no other fields than {', '.join(FIELDS.values())}.")
    given = {item: [row.get(name) if fine else None for row, fine in zip(rows, named, strict=True)]
             for item, name in FIELDS.items()}  # fmt: skip
    used = {item: values for item, values in given.items() if any(value is not None for value in values)}
    used |= {item: given[item] for item in ("truck", "start", "duration", "distance", "fuel")}
    cells = {
        item: pa.array(map(_number if item in FIELD else _text, values), pa.string()) for item, values in used.items()
    }
    return Chunk(lines, read_rows(cells, MANNER, known_to(user), refusals), refusals)


def _text(value: Any) -> str | None:
    """A cell's text; what is of another kind cannot be read."""
    if value is None:
        return None
    return value.encode(errors="replace").decode() if isinstance(value, str) else "?"


def _number(value: Any) -> str | None:
    """A number's text, which is read again as the same number."""
    if value is None:
        return None
    return repr(value) if isinstance(value, int | float) and not isinstance(value, bool) else "?"


def _verdicts(chunk: Chunk, outcome: Outcome) -> list[Any]:
    """For each row its outcome, or the place of its reason among the sentences."""
    key = key_of(chunk.trips)
    new, changed = np.isin(key, key_of(outcome.new)), np.isin(key, key_of(outcome.changed))
    words = np.where(new, NEW, np.where(changed, CHANGED, KNOWN)).tolist()
    return [reason or word for reason, word in zip(chunk.refusals.reason.tolist(), words, strict=True)]


def rows_of(sent: TripImport) -> Iterator[RowOutcome]:
    """What became of each row of a batch on record; nothing of a file."""
    kept = sent.outcomes or {}
    for number, word in enumerate(kept.get("rows", ()), start=1):
        if isinstance(word, str):
            yield RowOutcome(number, word)
        else:
            yield RowOutcome(number, REFUSED, kept["reasons"][word])


def _again(user: User, sent: TripImport, digest: str) -> BatchOutcome:
    if sent.sent_by_id != user.pk or (sent.outcomes or {}).get("digest") != digest:
        raise FleetError(
            "batch_key_used", "", "This key was used for other rows. Make a new key for each batch.", status=409
        )
    return _told(sent, repeated=True)


def _told(sent: TripImport, *, repeated: bool = False) -> BatchOutcome:
    return BatchOutcome(sent.pk, sent.lines, sent.accepted, sent.refused, tuple(rows_of(sent)), repeated)
