"""Bring the open files of a fleet into an empty installation."""

from pathlib import Path
from typing import Any

from fleet.management.folder_command import FolderCommand
from fleet.management.openfiles.reading import bring_back


class Command(FolderCommand):
    """All rows or none. The two installations may use different databases, but must be of one version."""

    help = "Read what export_fleet wrote into an empty installation (after migrate)."
    folder = "a folder that export_fleet wrote"

    def work(self, path: Path, **options: Any) -> None:
        counts = bring_back(path.absolute())
        self.stdout.write(f"{sum(counts.values())} rows of {len(counts)} tables are here as they were.")
        self.stdout.write("Nobody has a password yet. For each person: manage.py changepassword NAME")
