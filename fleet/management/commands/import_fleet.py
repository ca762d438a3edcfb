"""Bring the open files of a fleet into an empty installation."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.management.keeping.manifest import Unfit
from fleet.management.openfiles.reading import bring_back


class Command(BaseCommand):
    """All rows or none. The two installations may use different databases, but must be of one version."""

    requires_system_checks = ()
    help = "Read what export_fleet wrote into an empty installation (after migrate)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a folder that export_fleet wrote")

    def handle(self, *args: Any, path: Path, **options: Any) -> None:
        try:
            counts = bring_back(path.absolute())
        except Unfit as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{sum(counts.values())} rows of {len(counts)} tables are here as they were.")
        self.stdout.write("Nobody has a password yet. For each person: manage.py changepassword NAME")
