"""Run the beat alone, where several workers run."""

import signal
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from celery.beat import Service
from django.core.management.base import BaseCommand

from fleet.celery import app
from fleet.jobs.pulse import BeatPulse


class Command(BaseCommand):
    """One for an installation. Two would ring twice, which doubles no work: a job is claimed once."""

    requires_system_checks = []
    help = "Ring for stale and due jobs until stopped; workers then run with --no-beat."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--pulse", type=Path, help="file to touch while the beat goes round")

    def handle(self, *args: Any, pulse: Path | None, **options: Any) -> None:
        BeatPulse.path = pulse
        beat = Service(app, max_interval=1, scheduler_cls=BeatPulse)
        signal.signal(signal.SIGTERM, lambda signum, frame: beat.stop(wait=False))
        beat.start()
