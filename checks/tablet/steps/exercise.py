"""The actuator goes through its stroke a few times; the highest stimulus of each cycle is noted."""

from collections.abc import Mapping
from typing import Any

from checks.services.faults import Faults
from checks.tablet import watch
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet, reading_in
from checks.tablet.pair import on_the_meter, stimulus_field
from checks.tablet.sequence import Step, stopped, verdict_slug
from checks.tablet.strokes import readings_of, replace_section
from checks.tablet.taken import Taken
from checks.tablet.words import LEADS, SHORT_THEN

MOST = 10


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """One box for each cycle asked for, and for each one more that was made."""
    kept = readings_of(desk.answers, step.moment, "exercise")
    typed = sum(1 for i in range(MOST) if sheet.post and sheet.post.get(f"stimulus{i}"))
    rows = min(MOST, max(desk.cycles, len(kept), typed))
    setting, maximum = (
        on_the_meter(desk, value) for value in (desk.specification.setting, desk.specification.stimulus_max)
    )
    return {
        "fields": [
            stimulus_field(
                desk,
                sheet,
                kept[i] if i < len(kept) else None,
                suffix=str(i),
                label=f"Cycle {i + 1}, highest",
                focus=i == len(kept),
            )
            for i in range(rows)
        ],
        "lead": LEADS["exercise"].format(times=f"{desk.cycles} time{'' if desk.cycles == 1 else 's'}"),
        "how_far": LEADS["exercise-to"].format(setting=setting, maximum=maximum),
        "short_then": SHORT_THEN,
        "stop": watch.over_maximum(desk, step.moment),
        "short": watch.short_exercise(desk, step.moment) if len(kept) >= desk.cycles else "",
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the highest stimulus of each cycle; fewer than the specification asks are not enough."""
    if post.get("action") == "stop":
        return Taken(stopped(desk.answers, step.moment), to=verdict_slug(step.moment))
    faults = Faults()
    given = [i for i in range(MOST) if i < desk.cycles or post.get(f"stimulus{i}", "").strip()]
    readings = [reading_in(post, "exercise", desk.kit.scale, faults, suffix=str(i)) for i in given]
    faults.settle()
    answers = replace_section(desk.answers, step.moment, ("exercise",), readings)
    before = readings_of(desk.answers, step.moment)
    evidence = watch.evidence_of(desk, step.moment, answers[step.moment]["readings"])
    too_high = evidence is not None and any(watch.above_maximum.find(evidence))
    too_short = evidence is not None and any(watch.exercise_short.find(evidence))
    return Taken(answers, stay=(too_high or too_short) and before != answers[step.moment]["readings"])
