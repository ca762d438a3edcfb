"""Copy a whole installation into a folder."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.management.keeping.manifest import Unfit
from fleet.management.keeping.whole import back_up


class Command(BaseCommand):
    """May run while people work: the copy is of one moment."""

    requires_system_checks = ()
    help = "Copy the database, the photographs and the files on their way in into a new folder."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a folder that does not exist yet")

    def handle(self, *args: Any, path: Path, **options: Any) -> None:
        try:
            made = back_up(path.absolute())
        except Unfit as error:
            raise CommandError(str(error)) from error
        rows = sum(table.rows for table in made.tables.values())
        self.stdout.write(f"{path}: {rows} rows of {len(made.tables)} tables, {len(made.files)} files, {made.server}.")
        self.stdout.write(
            "It holds the digests of passwords and the secrets of second factors: keep it as safe as those."
        )
        self.stdout.write("SECRET_KEY is not in it; with another one, everybody signs in again.")
