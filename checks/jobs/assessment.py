"""Judging checks again by another revision."""

from typing import Any

from checks.models import Check, SpecificationRevision
from checks.selectors.assessment import flips_of
from checks.selectors.grounds import grounds_for
from checks.services.assessment import judge_checks
from checks.services.drift_request import request_refit
from checks.services.plan import replan
from fleet.jobs.run import Run

CHUNK = 250
FLIPS_SHOWN = 200


def rejudge(run: Run) -> dict[str, Any]:
    """Judge every check of a model by one of its revisions; older verdicts stay beside the new ones.

    Arguments: ``specification``, primary key of the revision. The result lists which verdicts changed:
    [check, moment, old state, new state].
    """
    revision = SpecificationRevision.objects.select_related("turbocharger_model").get(pk=run.arguments["specification"])
    wanted = Check.objects.filter(turbocharger__model=revision.turbocharger_model).order_by("pk")
    total, grounds = wanted.count(), grounds_for(revision)
    after, done = run.chunk or (0, 0)
    while rows := list(wanted.filter(pk__gt=after).values_list("pk", "turbocharger")[:CHUNK]):
        ids = [pk for pk, _ in rows]
        after, done = ids[-1], done + len(ids)
        with run.step(chunk=[after, done], done=done, total=max(total, done), message=f"{done} checks judged"):
            judge_checks(check_ids=ids, basis=f"revision {revision.revision}", by=revision, grounds=grounds)
            replan({turbocharger for _, turbocharger in rows})
    request_refit([revision.turbocharger_model_id])
    flips = flips_of(revision)
    return {"checks": done, "changed": len(flips), "flips": [list(flip) for flip in flips[:FLIPS_SHOWN]]}
