"""Run a worker, and the beat beside it unless that runs on its own."""

import os
import sys
import threading
import warnings
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from celery.beat import Scheduler, Service
from celery.exceptions import SecurityWarning
from django.conf import settings
from django.core.management.base import BaseCommand

from fleet.celery import app
from fleet.jobs.pulse import WorkerPulse
from fleet.jobs.tasks import tick


class Command(BaseCommand):
    """Do jobs until stopped. Several may run at once, on several machines when REDIS_URL is set."""

    requires_system_checks = []  # a worker needs no addresses, so a broken page does not stop it
    help = "Run a job worker together with the beat that puts stale jobs back."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--processes", type=int, default=2, help="jobs done at the same time (default 2)")
        parser.add_argument("--no-beat", action="store_true", help="leave the beat to 'manage.py beat'")
        parser.add_argument("--pulse", type=Path, help="file to touch while the worker goes round")

    def handle(self, *args: Any, processes: int, no_beat: bool, pulse: Path | None, **options: Any) -> None:
        # Messages are JSON, never pickles, so a worker run by root reads nothing that could run as root.
        warnings.simplefilter("ignore", SecurityWarning)
        # Whoever waits for a page comes first. It takes no privilege, and children inherit it.
        os.nice(settings.WORKER_NICE)
        tick()
        # What the last worker held when it was killed is still under lease now, and free when the lease has run out.
        tick.apply_async(countdown=settings.JOB_LEASE_SECONDS + 1, retry=False)
        if not no_beat:
            # A thread, so that nothing is left ringing when this process is killed; a doubled beat does no harm.
            beat = Service(app, max_interval=1, scheduler_cls=Scheduler)
            threading.Thread(target=beat.start, daemon=True).start()
        WorkerPulse.path = pulse
        app.steps["consumer"].add(WorkerPulse)
        worker = app.Worker(
            pool_cls=app.conf.worker_pool,
            concurrency=processes,
            loglevel=settings.LOG_LEVEL,
            quiet=True,
            without_gossip=True,
            without_mingle=True,
            without_heartbeat=True,
        )
        worker.start()
        sys.exit(worker.exitcode)
