"""A truck, and a function that brings a file of trips in as a worker would."""

import io
from types import SimpleNamespace

import pytest

from fleet.imports.trips.job import bring_trips
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.sending import begin_import, refused_report, understand
from fleet.jobs.ledger import claim, finish
from fleet.models import Job
from tests.factories import TruckFactory


@pytest.fixture
def truck(crew):
    return TruckFactory(depot=crew.depot, unit_number="T1")


@pytest.fixture
def bring(crew, truck):
    """Return a function: text or bytes of a file to its counts, and what the report of refused lines holds."""

    def run(content, **manner):
        data = content if isinstance(content, bytes) else content.encode()
        sent = begin_import(user=crew.manager, source="Feed", name="trips.csv", upload=io.BytesIO(data))
        if manner:
            sent = understand(user=crew.manager, key=sent.key, manner=Manner(**sent.manner | manner))
        job = Job.objects.create(kind="bring-trips", arguments={"key": str(sent.key)}, requested_by=crew.manager)
        sent.job = job
        sent.save()
        run = claim(job_id=job.pk)
        counts = bring_trips(run)
        finish(run=run, result=counts)
        report = "".join(refused_report(crew.manager, sent.key)).splitlines()[1:]
        return SimpleNamespace(**counts, report=report, sent=sent)

    return run
