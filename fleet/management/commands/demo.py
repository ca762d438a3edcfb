"""Load the demonstration, once; or a large plain fleet to measure with."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from time import perf_counter
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from fleet.management.demo import truth
from fleet.management.demo.bench import load_bench_fleet
from fleet.management.demo.cast import CARRIER, PEOPLE
from fleet.management.demo.load import is_loaded, load_scenario
from fleet.management.demo.mark import mark_older
from fleet.models import Depot


@contextmanager
def _no_word_of_jobs() -> Iterator[None]:
    """Hundreds of jobs are asked for, which nobody wants to read about here."""
    logger = logging.getLogger("fleet")
    level = logger.level
    logger.setLevel(logging.WARNING)
    try:
        yield
    finally:
        logger.setLevel(level)


class Command(BaseCommand):
    """A second run changes nothing and prints the sign-ins again."""

    requires_system_checks = ()  # migrate, which comes before, has made them
    help = "Load the demonstration fleet (once), or a bench fleet with --size."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--size", type=int, help="make a plain fleet of so many turbochargers with 6 checks each")
        parser.add_argument("--force", action="store_true", help="also where LOCAL is off, with known passwords")
        parser.add_argument("--write-truth", action="store_true", help="only write fixtures/demo/truth.json anew")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["write_truth"]:
            truth.write()
            return
        if not settings.LOCAL and not options["force"]:
            raise CommandError(
                "The demonstration has passwords that everybody knows, so it is kept to one's own machine (LOCAL=1). "
                "Use --force if that is what you want here."
            )
        if options["size"] is not None:
            self._bench(options["size"])
        elif is_loaded():
            mark_older()
            self.stdout.write(f"{CARRIER} is here already; what was entered since is kept.")
            self._sign_ins()
        else:
            self._load()

    def _load(self) -> None:
        self._refuse_a_fleet()
        self.stdout.write(f"Making two years of {CARRIER}; that takes a minute or a few ...")
        begun = perf_counter()
        with _no_word_of_jobs():
            history = load_scenario(today=timezone.localdate(), say=self._next)
        self.stdout.write(
            f"{len(history.fleet.trucks)} trucks, {len(history.fleet.units)} turbochargers, "
            f"{len(history.checks)} checks, {len(history.complaints)} complaints in {perf_counter() - begun:.0f} s."
        )
        self._sign_ins()

    def _next(self, stage: str) -> None:
        self.stdout.write(f"  {stage} ...")
        self.stdout.flush()

    def _sign_ins(self) -> None:
        self.stdout.write("Sign in as (all names invented):")
        for person in PEOPLE:
            where = ", ".join(person.depots) or "everything"
            pressure, length, distance = person.units
            self.stdout.write(
                f"  {person.username:<9} {person.password:<22} {person.role:<14} {where:<20} "
                f"{pressure}, {length}, {distance}"
            )

    def _bench(self, size: int) -> None:
        if size < 1:
            raise CommandError(f"--size is {size}; give the number of turbochargers, at least 1.")
        self._refuse_a_fleet()
        begun = perf_counter()
        made = load_bench_fleet(size)
        self.stdout.write(f"{size} turbochargers, {made} checks in {perf_counter() - begun:.0f} s.")

    def _refuse_a_fleet(self) -> None:
        if Depot.objects.exists():
            raise CommandError(
                "This database holds a fleet already. Give this one an empty database: DATABASE_URL=sqlite:///demo.sqlite3"
            )
