"""Copy a whole installation into a folder."""

from pathlib import Path
from typing import Any

from fleet.management.folder_command import FolderCommand
from fleet.management.keeping.whole import back_up


class Command(FolderCommand):
    """May run while people work: the copy is of one moment."""

    help = "Copy the database, the photographs and the files on their way in into a new folder."
    folder = "a folder that does not exist yet"

    def work(self, path: Path, **options: Any) -> None:
        made = back_up(path.absolute())
        rows = sum(table.rows for table in made.tables.values())
        self.stdout.write(f"{path}: {rows} rows of {len(made.tables)} tables, {len(made.files)} files, {made.server}.")
        self.stdout.write(
            "It holds the digests of passwords and the secrets of second factors: keep it as safe as those."
        )
        self.stdout.write("SECRET_KEY is not in it; with another one, everybody signs in again.")
