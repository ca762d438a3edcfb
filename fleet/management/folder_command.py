"""What the commands share that write or read a folder with all that an installation holds."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.management.keeping.manifest import Unfit


class FolderCommand(BaseCommand):
    """`work` gets the folder as it was typed; what makes it unfit is told as the command's error."""

    requires_system_checks = ()
    folder = ""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help=self.folder)

    def handle(self, *args: Any, path: Path, **options: Any) -> None:
        try:
            self.work(path, **options)
        except Unfit as error:
            raise CommandError(str(error)) from error

    def work(self, path: Path, **options: Any) -> None:
        """Do it and say what was done. Raises Unfit."""
        raise NotImplementedError
