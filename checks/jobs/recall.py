"""Judging again what a recalled instrument measured."""

from typing import Any

from checks.models import Recall
from checks.selectors.recalled import unjudged
from checks.services.recall import judge_uses, mark_judged
from fleet.jobs.run import Run

RECALLED = 50


def judge_recall(run: Run) -> dict[str, Any]:
    """Judge a recalled instrument's checks again with the error found; argument: ``recall``, its primary key.

    What was judged already stays: a run takes up whatever has no second verdict yet.
    """
    recall = Recall.objects.select_related("found", "instrument").get(pk=run.arguments["recall"])
    run.beat(message=f"looking for checks made with {recall.instrument}")
    waiting, total = unjudged(recall)
    done, strokes = total - len(waiting), 0
    for start in range(0, len(waiting), RECALLED):
        chunk = waiting[start : start + RECALLED]
        done += len(chunk)
        with run.step(chunk=chunk[-1].check, done=done, total=total, message=f"{done} of {total} checks judged"):
            strokes += judge_uses(recall=recall, uses=chunk)
    with run.step(chunk="judged", done=total, total=total, message="judged"):
        mark_judged(recall=recall)
    return {"checks": total, "strokes": strokes}
