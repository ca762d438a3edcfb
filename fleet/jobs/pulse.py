"""A file that worker and beat touch while they go round, so that a supervisor sees one that hangs.

test -n "$(find /tmp/worker.pulse -mmin -1)"
"""

from pathlib import Path
from typing import Any

from celery import bootsteps
from celery.beat import Scheduler
from redis.exceptions import ConnectionError as ConnectionLost

from fleet.jobs import broker

EVERY_S = 5.0


class WorkerPulse(bootsteps.StartStopStep):
    """Touch the file, where there is one, from the loop that hands out jobs; connect anew to a broker that came back.

    A worker whose processes are all busy listens to nothing, so it does not see the broker go. What it was then given
    can no longer be acknowledged, counts as being done for ever, and leaves no room for anything else.
    """

    requires = ("celery.worker.consumer.tasks:Tasks",)
    path: Path | None = None

    def start(self, parent: Any) -> None:
        """Begin with each connection; its timer ends with it."""
        self.known = broker.identity()
        self.look()
        parent.timer.call_repeatedly(EVERY_S, self.look)

    def look(self) -> None:
        """Touch the file. Raises ConnectionLost, which the worker answers by connecting anew."""
        if self.path is not None:
            self.path.touch()
        present = broker.identity()
        if present != self.known and present:
            raise ConnectionLost("The broker went away and came back.")
        self.known = present


class BeatPulse(Scheduler):
    """A beat that touches the file at every look at its clock."""

    path: Path | None = None

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """Touch the file and do what the clock says."""
        if self.path is not None:
            self.path.touch()
        return float(super().tick(*args, **kwargs))
