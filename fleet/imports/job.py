"""Going ahead with a long file in the background."""

import uuid
from typing import Any

from fleet.imports.staging import Staged, go_ahead
from fleet.jobs.requests import enqueue
from fleet.jobs.run import Run
from fleet.models import Job, User

KIND = "bring-in-file"
# A page answers for as many lines itself; more would keep its reader waiting.
LINES_AT_ONCE = 5_000


def go_ahead_later(*, user: User, waiting: Staged) -> Job:
    """Ask a worker to write what the trial run said; asked twice, it is one job."""
    arguments = {"key": str(waiting.key), "user": user.pk}
    return enqueue(kind=KIND, arguments=arguments, key=str(waiting.key), requested_by=user)


def bring_in_file(run: Run) -> dict[str, Any]:
    """Write the file in one transaction; done again after a crash it changes nothing."""
    user = User.objects.get(pk=run.arguments["user"])
    done = go_ahead(user=user, key=uuid.UUID(run.arguments["key"]))
    lines = len(done.verdicts)
    run.beat(done=lines, total=lines, message=f"{done.name} is in the register")
    return {"tally": done.tally}
