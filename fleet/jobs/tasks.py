"""The one Celery task that runs a job, and the tick that finds what a lost message left behind."""

import logging
import time

from celery import shared_task
from django.db import InterfaceError, OperationalError
from kombu.exceptions import OperationalError as BrokerAway

from fleet.jobs import ledger
from fleet.jobs.registry import kind_of, upkeep
from fleet.jobs.run import LeaseLost, PutOff, Run
from fleet.log import of_job
from fleet.problems import FleetError, disk_is_full

logger = logging.getLogger(__name__)

UNEXPECTED = "It stopped on an unexpected error ({}); the worker's log has the details. Retry resumes it."
NO_ROOM = "The disk is full. Make room, then retry: it goes on after what it had written."


@shared_task(name="fleet.jobs.run")
def run_job(job_id: int) -> None:
    """Run a job if it waits; a second delivery of the same id finds nothing to do."""
    with of_job(job_id):
        run = ledger.claim(job_id=job_id)
        if run is None:
            return
        try:
            _do(run)
        except LeaseLost:
            logger.info("Job %s was cancelled or taken over.", job_id)
        for waiting in ledger.twins_waiting(run=run):
            ring(waiting)


@shared_task(name="fleet.jobs.tick")
def tick() -> None:
    """Put stale jobs back, ring for every job that is due, and do what the apps want done at every beat."""
    ledger.put_back_stale()
    for job_id in ledger.due():
        ring(job_id)
    for work in upkeep():
        try:
            work()
        except Exception:
            logger.exception("Upkeep %s failed; the next tick tries again", getattr(work, "__name__", work))


def look_over() -> None:
    """Beat once more, now; when the broker is away, the next tick does the same."""
    try:
        tick.apply_async(retry=False)
    except (BrokerAway, OSError):
        logger.warning("The broker does not answer; what changed waits for the next tick.")


def ring(job_id: int, delay_s: float = 0) -> None:
    """Tell some worker that a job waits; when the broker is away, the next tick rings again."""
    try:
        run_job.apply_async((job_id,), countdown=delay_s, retry=False)
    except (BrokerAway, OSError):
        logger.warning("The broker does not answer; job %s waits for the next tick.", job_id)


def _do(run: Run) -> None:
    began = time.monotonic()
    logger.info("Job %s (%s) begins", run.job_id, run.kind, extra={"kind": run.kind})
    try:
        result = kind_of(run.kind).handler(run)
    except LeaseLost:
        raise
    except PutOff as later:
        ledger.put_off(run=run, delay_s=later.delay_s)
        ring(run.job_id, later.delay_s)
    except FleetError as error:
        logger.warning("Job %s (%s) gave up: %s", run.job_id, run.kind, error.code, extra={"kind": run.kind})
        ledger.fail(run=run, sentence=error.sentence)
    except (OperationalError, InterfaceError):
        # A database that restarts is no fault of the job: its lease runs out, and the beat puts it back.
        logger.exception("The database went away under job %s (%s); it goes on later", run.job_id, run.kind)
    except Exception as error:
        logger.exception("Job %s (%s) failed", run.job_id, run.kind)
        ledger.fail(run=run, sentence=NO_ROOM if disk_is_full(error) else UNEXPECTED.format(type(error).__name__))
    else:
        ledger.finish(run=run, result=result)
        ms = round(1000 * (time.monotonic() - began))
        logger.info("Job %s (%s) is done in %s ms", run.job_id, run.kind, ms, extra={"kind": run.kind, "ms": ms})
