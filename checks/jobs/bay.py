"""Planning the bay."""

from typing import Any

from checks.services.bay import level_depot
from fleet.jobs.run import Run
from fleet.models import Depot


def level_bay(run: Run) -> dict[str, Any]:
    """Give a depot's due checks their days; argument: ``depot``, its primary key."""
    done = level_depot(depot=Depot.objects.get(pk=run.arguments["depot"]))
    return {"placed": done.placed, "unplaced": done.unplaced}
