"""Write all that a fleet owns as open files."""

from pathlib import Path
from typing import Any

from fleet.management.folder_command import FolderCommand
from fleet.management.openfiles.writing import export


class Command(FolderCommand):
    """May run while people work: the files show one moment."""

    help = "Write every table as CSV with its Table Schema, and the photographs, into a new folder."
    folder = "a folder that does not exist yet"

    def work(self, path: Path, **options: Any) -> None:
        made = export(path.absolute())
        rows = sum(table["rows"] for table in made["resources"])
        pictures = len(made["photographs"])
        self.stdout.write(f"{path}: {rows} rows in {len(made['resources'])} files, {pictures} photographs.")
        self.stdout.write(f"Left out, since they let people or programs in: {', '.join(made['left_out'])}.")
