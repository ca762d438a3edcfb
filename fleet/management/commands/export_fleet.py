"""Write all that a fleet owns as open files."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.management.keeping.manifest import Unfit
from fleet.management.openfiles.writing import export


class Command(BaseCommand):
    """May run while people work: the files show one moment."""

    requires_system_checks = ()
    help = "Write every table as CSV with its Table Schema, and the photographs, into a new folder."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a folder that does not exist yet")

    def handle(self, *args: Any, path: Path, **options: Any) -> None:
        try:
            made = export(path.absolute())
        except Unfit as error:
            raise CommandError(str(error)) from error
        rows = sum(table["rows"] for table in made["resources"])
        pictures = len(made["photographs"])
        self.stdout.write(f"{path}: {rows} rows in {len(made['resources'])} files, {pictures} photographs.")
        self.stdout.write(f"Left out, since they let people or programs in: {', '.join(made['left_out'])}.")
