"""Optional: readings on the way back, and a leak-down hold."""

from collections.abc import Mapping
from typing import Any

from checks.services.faults import Faults
from checks.tablet import watch
from checks.tablet.desk import Desk
from checks.tablet.entry import Field, Sheet, reading_in
from checks.tablet.listing import add_once, delete, listed, replace
from checks.tablet.pair import pair_fields
from checks.tablet.plot import plot_of
from checks.tablet.sequence import Step
from checks.tablet.strokes import readings_of, replace_section
from checks.tablet.taken import Taken
from checks.tablet.words import LEADS

PHASES = ("fall", "hold")


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """What was read on the way back, and boxes for one more."""
    readings = readings_of(desk.answers, step.moment, *PHASES)
    place = sheet.asked("place")
    correcting = int(place) if place.isdecimal() and int(place) < len(readings) else None
    kept = readings[correcting] if correcting is not None else None
    phase = sheet.text("phase", (kept or {}).get("phase")) or "fall"
    return {
        "fields": pair_fields(desk, sheet, kept, focus=False),
        "seconds": Field(
            name="seconds",
            label="Seconds since the supply was closed",
            text=sheet.text("seconds", (kept or {}).get("seconds")),
            units=("s",),
            unit="s",
            wrong=sheet.wrong_with("seconds"),
            hint="For a hold only.",
        ),
        "lead": LEADS[f"fall-{desk.stimulus}"],
        "phase": phase,
        "rows": listed(readings),
        "count": len(readings),
        "correcting": correcting,
        "correcting_number": None if correcting is None else correcting + 1,
        "wrong_list": sheet.wrong_with("list"),
        "plot": plot_of(desk, step.moment),
        "stop": watch.over_maximum(desk, step.moment),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Add, correct or delete a reading; or go on, with or without any."""
    readings = readings_of(desk.answers, step.moment, *PHASES)
    action = post.get("action", "next")
    if action == "next":
        return Taken({"passed": sorted({*desk.answers.get("passed", []), step.slug})})
    if action == "delete":
        changed = delete(readings, post)
    else:
        reading = _reading(desk, post)
        changed = replace(readings, post, reading) if action == "correct" else add_once(readings, post, reading)
    return Taken(replace_section(desk.answers, step.moment, PHASES, changed), stay=True)


def _reading(desk: Desk, post: Mapping[str, str]) -> dict[str, Any]:
    faults, phase = Faults(), post.get("phase", "")
    if phase not in PHASES:
        faults.add("not_a_choice", "list", "Choose whether it is a falling reading or a hold.")
        faults.settle()
    reading = reading_in(post, phase, desk.kit.scale, faults)
    faults.settle()
    return reading
