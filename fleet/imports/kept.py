"""Files on their way in: where they are kept until somebody goes ahead, and for how long."""

import shutil
import time
import uuid
from pathlib import Path

from django.conf import settings

# Long enough to mend and send again; an import of trips that was stopped can go on as long.
KEPT_DAYS = {"imports": 7, "trips": 14}


def folder_of(under: str, key: uuid.UUID) -> Path:
    """Where one file and what became of it is kept; `under` as in `KEPT_DAYS`."""
    return Path(settings.MEDIA_ROOT) / under / str(key)


def write_over(path: Path, text: str) -> None:
    """Write a small file as a whole: whoever reads meanwhile finds the old one or the new one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_suffix(".new")
    fresh.write_text(text)
    fresh.replace(path)


def clear_old() -> int:
    """Clear away what was not touched for `KEPT_DAYS`; return how many files that were."""
    now = time.time()
    folders = [
        path
        for under, days in KEPT_DAYS.items()
        for path in (Path(settings.MEDIA_ROOT) / under).glob("*")
        if _touched_s(path) < now - days * 86_400
    ]
    for folder in folders:
        shutil.rmtree(folder, ignore_errors=True)
    return len(folders)


def _touched_s(folder: Path) -> float:
    return max(path.stat().st_mtime for path in (folder, *folder.glob("*")))
