"""Going ahead with a long file in the background."""

import uuid
from typing import Any

from fleet.imports.staging import Staged, mark_applied, staged, write_staged
from fleet.jobs.requests import enqueue
from fleet.jobs.run import Run
from fleet.models import Job, User

KIND = "bring-in-file"
# A page answers for as many lines itself; more would keep its reader waiting.
LINES_AT_ONCE = 5_000
WRITTEN = "written"


def go_ahead_later(*, user: User, waiting: Staged) -> Job:
    """Ask a worker to write what the trial run said; asked twice, it is one job."""
    arguments = {"key": str(waiting.key), "user": user.pk}
    return enqueue(kind=KIND, arguments=arguments, key=str(waiting.key), requested_by=user)


def bring_in_file(run: Run) -> dict[str, Any]:
    """Write the file in one transaction with the place in the job, so that a crash afterwards does not try it again."""
    user = User.objects.get(pk=run.arguments["user"])
    waiting = staged(user, uuid.UUID(run.arguments["key"]))
    lines = len(waiting.verdicts)
    if not waiting.applied_at:
        if run.chunk != WRITTEN:
            with run.step(chunk=WRITTEN, done=lines, total=lines, message=f"{waiting.name} is in the register"):
                write_staged(user=user, waiting=waiting)
        mark_applied(user=user, waiting=waiting)
    return {"tally": waiting.tally}
