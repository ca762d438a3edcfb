"""Put a backup in the place of an installation's data."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fleet.management.folder_command import FolderCommand
from fleet.management.keeping.whole import restore, waiting


class Command(FolderCommand):
    """Stop the server and the worker first; a database in use is refused or waits."""

    help = "Restore what backup wrote, and compare every table with what it was."
    folder = "a folder that backup wrote"

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--replace", action="store_true", help="give up the data that this installation holds")

    def work(self, path: Path, **options: Any) -> None:
        manifest = restore(path.absolute(), replace=options["replace"])
        rows = sum(table.rows for table in manifest.tables.values())
        self.stdout.write(
            f"As on {manifest.made_at}: {rows} rows of {len(manifest.tables)} tables and {len(manifest.files)} files, "
            "each the same as when the backup was made."
        )
        if names := waiting(manifest):
            self.stdout.write(f"This version has {len(names)} newer migrations. Run: manage.py migrate")
