"""How far a file of trips is on its way, and what became of its lines."""

import uuid
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from fleet.imports.trips.batch import REFUSED, rows_of
from fleet.imports.trips.chunk import COUNTS
from fleet.imports.trips.told import EXAMPLES, Reason, Told, told_again, told_by
from fleet.models import Job, TripImport, User
from fleet.selectors.jobs import JobRow, row_of
from fleet.selectors.trips import trip_import


@dataclass(frozen=True, slots=True)
class Progress:
    """A file on its way. ``trial`` says whether counts and job are of its trial run; a batch has no job.

    ``known`` counts accepted lines that were on record as they are, or that a later line of the file replaced.
    ``silent``: its worker has not been heard of for longer than its lease.
    """

    key: uuid.UUID
    name: str
    source: str
    sent_at: datetime
    trial: bool
    job: JobRow | None
    silent: bool
    lines: int
    accepted: int
    refused: int
    new: int
    changed: int
    told: Told
    is_batch: bool

    @property
    def known(self) -> int:
        return self.accepted - self.new - self.changed

    @property
    def is_stopped(self) -> bool:
        """A person stopped it, or it failed; it can go on."""
        return self.job is not None and self.job.can_retry

    @property
    def state(self) -> str:
        """A word for where it stands."""
        if self.job is None:
            return "brought in" if self.is_batch else "not read yet"
        if self.job.state == Job.State.DONE:
            return "tried" if self.trial else "brought in"
        return f"{'trial run' if self.trial else 'bringing in'} {self.job.state_word}"

    @property
    def days(self) -> tuple[date, date] | None:
        """First and last day, in UTC, on which a trip begins that was written."""
        if self.told.span is None:
            return None
        first, last = (datetime.fromtimestamp(second, UTC).date() for second in self.told.span)
        return first, last


def progress_of(user: User, key: uuid.UUID) -> Progress:
    """How far the file is that `user` sent; one query. Raises FleetError with 404 for anybody else's."""
    return progress_row(trip_import(user, key))


def files_of(user: User, *, count: int = 20) -> list[Progress]:
    """The latest files and batches that `user` sent, newest first; one query, and no file is opened."""
    return [progress_row(row, with_told=False) for row in sent_by(user)[:count]]


def sent_by(user: User) -> QuerySet[TripImport]:
    """What `user` sent, with what `progress_row` needs."""
    return TripImport.objects.filter(sent_by=user).select_related("source", "job", "trial_job")


def progress_row(sent: TripImport, *, with_told: bool = True) -> Progress:
    """The same of a row that came with its source and jobs; without `with_told` no file is opened."""
    job, trial = (sent.job, False) if sent.job else (sent.trial_job, sent.trial_job is not None)
    counts: dict[str, Any] = {name: getattr(sent, name) for name in COUNTS}
    if trial and job:
        counts = dict.fromkeys(COUNTS, 0) | {name: (job.chunk or {}).get(name, 0) for name in COUNTS}
    silent = bool(job and job.lease_until and job.lease_until < timezone.now())
    told = _told(sent, job, trial=trial) if with_told else Told()
    row = row_of(job) if job else None
    return Progress(
        sent.pk, sent.name, sent.source.name, sent.sent_at, trial, row, silent,
        told=told, is_batch=sent.outcomes is not None, **counts,
    )  # fmt: skip


def _told(sent: TripImport, job: Job | None, *, trial: bool) -> Told:
    if job is None:
        return _told_of_batch(sent)
    if job.result:
        return told_again(job.result)
    return told_by(sent.pk, trial=trial, until=(job.chunk or {}).get("offset", 0))


def _told_of_batch(sent: TripImport) -> Told:
    refused = [(row.row, row.reason) for row in rows_of(sent) if row.outcome == REFUSED]
    counts = Counter(sentence for _, sentence in refused)
    rows = {name: tuple((row, "") for row, sentence in refused if sentence == name)[:EXAMPLES] for name in counts}
    return Told(tuple(Reason(name, lines, rows[name]) for name, lines in counts.most_common()))
