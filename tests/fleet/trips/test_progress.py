"""How far a file is, and what its chunks told: added up, resumed, and kept when the file is cleared away."""

import io
import shutil
from datetime import date

import pytest
from django.utils import timezone

from fleet.imports.kept import folder_of
from fleet.imports.trips import job as trip_job
from fleet.imports.trips import staging
from fleet.imports.trips.job import bring_trips
from fleet.imports.trips.progress import files_of, progress_of
from fleet.imports.trips.sending import ask, begin_import
from fleet.imports.trips.told import Reason
from fleet.jobs.ledger import claim, finish
from fleet.jobs.run import LeaseLost
from fleet.models import Job, TripImport
from fleet.problems import FleetError

pytestmark = pytest.mark.django_db
HEADING = "truck,start,duration_h,distance_km,fuel_l"
GOOD = [f"T1,2025-03-{day:02d} 08:30,1,80,25" for day in range(1, 11)]
UNKNOWN = [f"X{number},2025-03-01 08:30,1,80,25" for number in range(5)]
SLOW = ["T1,2025-04-01 08:30,-1,80,25"]
LINES = "\n".join([HEADING, *UNKNOWN[:2], *GOOD[:5], *UNKNOWN[2:], *SLOW, *GOOD[5:]]) + "\n"


@pytest.fixture(autouse=True)
def small_chunks(monkeypatch):
    monkeypatch.setattr(trip_job, "chunks_after", lambda path, offset: staging.chunks_after(path, offset, 100))


@pytest.fixture
def sent(crew, truck):
    return begin_import(user=crew.manager, source="Feed", name="feed.csv", upload=io.BytesIO(LINES.encode()))


def asked(user, sent, *, trial=False):
    """A run of the file's job."""
    return claim(job_id=ask(user=user, key=sent.key, trial=trial).pk)


def test_reasons_of_all_chunks_add_up_with_the_first_lines_of_each(crew, sent):
    run = asked(crew.manager, sent, trial=True)
    finish(run=run, result=bring_trips(run))
    found = progress_of(crew.manager, sent.key)
    assert (found.lines, found.accepted, found.refused, found.new) == (16, 10, 6, 10)
    unknown, backward = found.told.reasons
    examples = ((2, UNKNOWN[0]), (3, UNKNOWN[1]), (9, UNKNOWN[2]))
    assert unknown == Reason("You manage no truck with this number.", 5, examples)
    assert (backward.lines, backward.examples) == (1, ((12, SLOW[0]),))
    assert found.days == (date(2025, 3, 1), date(2025, 3, 10))
    assert (found.state, found.trial) == ("tried", True)


def test_what_was_told_outlives_the_file(crew, sent):
    run = asked(crew.manager, sent)
    finish(run=run, result=bring_trips(run))
    before = progress_of(crew.manager, sent.key)
    shutil.rmtree(folder_of("trips", sent.key))
    assert progress_of(crew.manager, sent.key) == before
    assert before.state == "brought in"


def test_a_run_that_breaks_off_tells_its_committed_chunks_and_the_next_tells_the_same_as_one(crew, sent, monkeypatch):
    run = asked(crew.manager, sent)
    kept, calls = trip_job.keep_told, []

    def dies(*arguments, **options):
        calls.append(arguments)
        kept(*arguments, **options)
        if len(calls) == 3:
            raise LeaseLost("killed")

    monkeypatch.setattr(trip_job, "keep_told", dies)
    with pytest.raises(LeaseLost):
        bring_trips(run)
    halfway = progress_of(crew.manager, sent.key)
    # The third chunk wrote its file, but it is not committed and so not told.
    assert halfway.refused == sum(reason.lines for reason in halfway.told.reasons)
    assert 0 < halfway.lines < 16
    Job.objects.filter(pk=run.job_id).update(state="queued", lease_token=None, lease_until=None)
    again = claim(job_id=run.job_id)
    finish(run=again, result=bring_trips(again))
    found = progress_of(crew.manager, sent.key)
    assert (found.lines, found.accepted, found.refused) == (16, 10, 6)
    assert [reason.lines for reason in found.told.reasons] == [5, 1]


def test_a_worker_whose_lease_ran_out_is_called_silent(crew, sent):
    run = asked(crew.manager, sent)
    assert not progress_of(crew.manager, sent.key).silent
    Job.objects.filter(pk=run.job_id).update(lease_until=timezone.now())
    assert progress_of(crew.manager, sent.key).silent


def test_states_are_words_a_person_reads(crew, sent):
    assert files_of(crew.manager)[0].state == "not read yet"
    run = asked(crew.manager, sent, trial=True)
    assert files_of(crew.manager)[0].state == "trial run running"
    finish(run=run, result=bring_trips(run))
    asked(crew.manager, sent)
    assert files_of(crew.manager)[0].state == "bringing in running"


def test_the_list_is_one_query_and_shows_nobody_elses_files(crew, sent, django_assert_num_queries):
    TripImport.objects.create(source=sent.source, sent_by=crew.manager, name="two", size_bytes=1, manner={})
    with django_assert_num_queries(1):
        assert len(files_of(crew.manager)) == 2
    assert files_of(crew.stranger) == []
    with pytest.raises(FleetError, match="not sent such a file"):
        progress_of(crew.stranger, sent.key)
