"""Keeps a file between its trial run and the word to go ahead, and carries that word out."""

import json
import uuid
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.core.files import locks
from django.db import transaction
from django.http import Http404
from django.utils import timezone

from fleet.imports.formats import format_named
from fleet.imports.kept import folder_of, write_over
from fleet.imports.trial import Trial, Verdict, run_trial
from fleet.jobs.requests import look_over_soon
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.bulk import save_in_bulk

FOLDER = "imports"


@dataclass(frozen=True, slots=True)
class Staged:
    """A file that waits, or that was brought in at `applied_at`."""

    key: uuid.UUID
    kind: str
    name: str
    digest: str
    tally: dict[str, int]
    heading: tuple[str, ...]
    notices: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    applied_at: str = ""


def stage(*, user: User, kind: str, name: str, content: bytes) -> Staged:
    """Make the trial run of a file and keep both. Raises FleetError when no line can be read."""
    require(user, Membership.Role.MANAGER)
    trial = run_trial(user=user, kind=format_named(kind), content=content)
    key = uuid.uuid4()
    folder = folder_of(FOLDER, key)
    folder.mkdir(parents=True)
    (folder / "source").write_bytes(content)
    return _keep(user, _staged(key, kind, name.replace("\0", "")[:80], trial))


def staged(user: User, key: uuid.UUID) -> Staged:
    """The trial run that `user` made. Raises Http404 for anybody else's, and for one that was cleared away."""
    path = folder_of(FOLDER, key) / "trial.json"
    if not path.exists():
        raise Http404("This trial run was cleared away. Send the file again.")
    kept = json.loads(path.read_text())
    if kept.pop("user") != user.pk:
        raise Http404("This trial run is somebody else's.")
    kept["verdicts"] = tuple(Verdict(**verdict) for verdict in kept["verdicts"])
    return Staged(**kept | {"key": key, "heading": tuple(kept["heading"]), "notices": tuple(kept["notices"])})


def go_ahead(*, user: User, key: uuid.UUID) -> Staged:
    """Write exactly what the trial run said; asked twice, the second time changes nothing. Raises as `write_staged`."""
    staged(user, key)
    with (folder_of(FOLDER, key) / "turn").open("w") as turn:
        # A second tap waits for the first, and finds the file brought in instead of a register that changed.
        locks.lock(turn, locks.LOCK_EX)
        waiting = staged(user, key)
        if waiting.applied_at:
            return waiting
        write_staged(user=user, waiting=waiting)
        return mark_applied(user=user, waiting=waiting)


def write_staged(*, user: User, waiting: Staged) -> None:
    """Write the rows of a file into the register, in one transaction.

    Raises FleetError ``register_changed`` when the register has changed so that the file would now do something else;
    the trial run is then renewed and nothing is written.
    """
    content = (folder_of(FOLDER, waiting.key) / "source").read_bytes()
    with transaction.atomic():
        trial = run_trial(user=user, kind=format_named(waiting.kind), content=content)
        if trial.digest == waiting.digest:
            _write(user, trial, waiting.name)
            look_over_soon()
    if trial.digest != waiting.digest:
        _keep(user, _staged(waiting.key, waiting.kind, waiting.name, trial))
        raise FleetError(
            "register_changed", "", "The register changed since the trial run. Look at the new one, then go ahead.", 409
        )


def mark_applied(*, user: User, waiting: Staged) -> Staged:
    """Keep that the rows of a file are in the register, once their transaction is over."""
    return _keep(user, replace(waiting, applied_at=timezone.now().isoformat()))


def _write(user: User, trial: Trial, name: str) -> None:
    new = [step.row for step in trial.steps if step.changes is None]
    created = {id(row) for row in new}
    # A row that is new in this file and changed by a later line is written once, as it came out.
    changed = [(step.row, set(step.changes)) for step in trial.steps if step.changes and id(step.row) not in created]
    save_in_bulk(user=user, new=new, changed=changed, reason=f"File {name}")


def _staged(key: uuid.UUID, kind: str, name: str, trial: Trial) -> Staged:
    return Staged(key, kind, name, trial.digest, trial.tally, trial.heading, trial.notices, trial.verdicts)


def _keep(user: User, result: Staged) -> Staged:
    kept: dict[str, Any] = asdict(result) | {"user": user.pk, "key": str(result.key)}
    write_over(folder_of(FOLDER, result.key) / "trial.json", json.dumps(kept))
    return result
