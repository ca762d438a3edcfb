"""A file of trips from its upload to the word to bring it in."""

import uuid
from collections.abc import Iterator
from typing import BinaryIO

from django.db import transaction

from fleet.imports.trips.guessing import guess
from fleet.imports.trips.job import KIND
from fleet.imports.trips.manner import Manner, checked
from fleet.imports.trips.staging import headings_of, keep, refused_parts, source_of
from fleet.jobs.requests import cancel, enqueue, retry
from fleet.models import Job, Membership, TripImport, User
from fleet.problems import FleetError
from fleet.selectors.scope import depots_of, require
from fleet.selectors.trips import trip_import
from fleet.services.trips import remember_source

STOPPED = (Job.State.FAILED, Job.State.CANCELLED)


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


@transaction.atomic
def understand(*, user: User, key: uuid.UUID, manner: Manner) -> TripImport:
    """Read a file so from now on, and its source's next files as well. Raises FleetError."""
    sent = trip_import(user, key)
    _refuse_begun(sent)
    checked(manner)
    manner.places(headings_of(key, manner.delimiter))
    if sent.manner != manner.kept():
        sent.trial_job = None  # its trial run was made in another manner
    sent.manner = manner.kept()
    sent.save(update_fields=["manner", "trial_job"])
    remember_source(user=user, name=sent.source.name, manner=manner.kept())
    return sent


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


def refused_report(user: User, key: uuid.UUID) -> Iterator[str]:
    """The refused lines so far as CSV with the columns line, reason, original, part by part.

    Of a file not brought in yet, those of its trial run.
    """
    sent = trip_import(user, key)
    job = sent.job or sent.trial_job
    return refused_parts(key, trial=sent.job is None, until=(job.chunk or {}).get("offset", 0) if job else 0)


def _refuse_begun(sent: TripImport) -> None:
    if sent.job_id:
        raise FleetError("trip_import_begun", "", "This file is on its way in already. Look at its job.", status=409)
