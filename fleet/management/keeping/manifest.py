"""What a backup says of itself: where it came from, and the digest of every table and file."""

import hashlib
import json
import shutil
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings

NAME = "manifest.json"
FORM = 1
PRIVATE = 0o700


class Unfit(Exception):
    """A backup or a restore that cannot be done; the sentence says why and what helps."""


@dataclass(frozen=True)
class Contents:
    """Rows of a table and the digest of their values, in the order of the primary key."""

    rows: int
    sha256: str


@dataclass
class Manifest:
    """`migrations` are the applied ones, app.name; `files` are paths below the backup's folder."""

    made_at: str
    vendor: str
    server: str
    migrations: list[str]
    tables: dict[str, Contents]
    files: dict[str, str] = field(default_factory=dict)
    form: int = FORM

    def write(self, folder: Path) -> None:
        """Write it last: a folder without a manifest is no backup."""
        (folder / NAME).write_text(json.dumps(asdict(self), indent=1) + "\n")


def read(folder: Path) -> Manifest:
    """Read a backup's manifest, or refuse what is none."""
    try:
        told: dict[str, Any] = json.loads((folder / NAME).read_text())
        tables = {name: Contents(**contents) for name, contents in told.pop("tables").items()}
        manifest = Manifest(tables=tables, **told)
    except FileNotFoundError as error:
        raise Unfit(f"{folder} holds no {NAME}, so it is no backup. Give the folder that backup wrote.") from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Unfit(f"{folder / NAME} cannot be read ({error}). Take another backup.") from error
    if manifest.form != FORM:
        raise Unfit(
            f"This backup has form {manifest.form}; this version reads {FORM}. Restore it with its own version."
        )
    return manifest


def verify(folder: Path, manifest: Manifest) -> None:
    """Refuse a backup of which a byte is missing or different."""
    for name, digest in manifest.files.items():
        path = folder / name
        if not path.resolve().is_relative_to(folder.resolve()):
            raise Unfit(f"The manifest names {name}, which lies outside the backup. Nothing was restored.")
        if not path.is_file():
            raise Unfit(f"{name} is missing from the backup. Nothing was restored; take another backup.")
        if digest_of(path) != digest:
            raise Unfit(f"{name} is not as it was written. Nothing was restored; take another backup.")


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def folders() -> dict[str, Path]:
    """Return the folders of `VAR_DIR` that belong to the data, by their name in a backup."""
    return {"photos": settings.VAR_DIR / "photos", "media": Path(settings.MEDIA_ROOT)}


def files_in(folder: Path) -> Iterator[Path]:
    """Yield every file below a folder, in a fixed order."""
    return (path for path in sorted(folder.rglob("*")) if path.is_file())


def copy_files(into: Path) -> None:
    """Copy the data's folders below `into`; a file that goes away meanwhile is left out."""
    for name, folder in folders().items():
        for path in files_in(folder):
            target = into / name / path.relative_to(folder)
            target.parent.mkdir(parents=True, exist_ok=True, mode=PRIVATE)
            try:
                shutil.copyfile(path, target)
                shutil.copystat(path, target)
                target.chmod(0o600)
            except FileNotFoundError:  # cleared away: an upload that was finished or given up
                continue


def stage_files(backup: Path, stage: Path) -> None:
    """Copy a backup's folders beside where they will be, so that the change itself is only a renaming."""
    for name in folders():
        (stage / name).mkdir(parents=True)
        if (backup / name).is_dir():
            shutil.copytree(backup / name, stage / name, dirs_exist_ok=True)


def change_over(stage: Path) -> None:
    """Put staged folders in the place of those in use."""
    for name, folder in folders().items():
        if folder.exists():
            folder.rename(stage / f"{name}.before")
        folder.parent.mkdir(parents=True, exist_ok=True)
        (stage / name).rename(folder)
