"""Put a backup in the place of an installation's data."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.management.keeping.manifest import Unfit
from fleet.management.keeping.whole import restore, waiting


class Command(BaseCommand):
    """Stop the server and the worker first; a database in use is refused or waits."""

    requires_system_checks = ()
    help = "Restore what backup wrote, and compare every table with what it was."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a folder that backup wrote")
        parser.add_argument("--replace", action="store_true", help="give up the data that this installation holds")

    def handle(self, *args: Any, path: Path, replace: bool, **options: Any) -> None:
        try:
            manifest = restore(path.absolute(), replace=replace)
        except Unfit as error:
            raise CommandError(str(error)) from error
        rows = sum(table.rows for table in manifest.tables.values())
        self.stdout.write(
            f"As on {manifest.made_at}: {rows} rows of {len(manifest.tables)} tables and {len(manifest.files)} files, "
            "each the same as when the backup was made."
        )
        if names := waiting(manifest):
            self.stdout.write(f"This version has {len(names)} newer migrations. Run: manage.py migrate")
