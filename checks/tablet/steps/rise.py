"""The rise that counts: readings one by one, up to the reading at the setting."""

from collections.abc import Mapping
from typing import Any

from checks.display import stimulus_text
from checks.services.faults import Faults
from checks.tablet import watch
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet, reading_in
from checks.tablet.listing import add_once, delete, listed, replace
from checks.tablet.pair import on_the_meter, pair_fields
from checks.tablet.plot import plot_of
from checks.tablet.sequence import Step, stopped, verdict_slug
from checks.tablet.strokes import readings_of, replace_section
from checks.tablet.taken import Taken

PHASES = ("rise", "setting", "vent")


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """The plot, what to do now, the boxes for the next reading, and the readings so far."""
    readings = readings_of(desk.answers, step.moment, *PHASES)
    now = watch.watch_rise(desk, step.moment)
    correcting = _place(sheet.asked("place"), readings)
    kept = readings[correcting] if correcting is not None else None
    return {
        "watch": now,
        "fields": pair_fields(desk, sheet, kept, signed=now.level in {"again", "stop"}),
        "rows": listed(readings),
        "count": len(readings),
        "correcting": correcting,
        "correcting_number": None if correcting is None else correcting + 1,
        "wrong_list": sheet.wrong_with("list"),
        "setting": on_the_meter(desk, desk.specification.setting),
        "maximum": on_the_meter(desk, desk.specification.stimulus_max),
        "plot": plot_of(desk, step.moment),
        "next_waits": now.level != "reached",
        "can_stop": bool(readings) and now.level != "reached",
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Add, correct or delete a reading; or go on once the reading at the setting is made."""
    readings = readings_of(desk.answers, step.moment, *PHASES)
    action = post.get("action", "next")
    if action == "next":
        return _go_on(desk, step, readings)
    if action == "stop":
        return Taken(stopped(desk.answers, step.moment), to=verdict_slug(step.moment))
    if action == "delete":
        changed = delete(readings, post)
    else:
        reading = _reading(desk, step, post, action)
        changed = replace(readings, post, reading) if action == "correct" else add_once(readings, post, reading)
    return Taken(_kept(desk, step, changed), stay=True)


def _kept(desk: Desk, step: Step, readings: list[dict[str, Any]]) -> dict[str, Any]:
    """Readings kept; a step once given up is open again, since something was done in it."""
    passed = [slug for slug in desk.answers.get("passed", []) if slug != step.slug]
    return replace_section(desk.answers, step.moment, PHASES, readings) | {"passed": passed}


def _reading(desk: Desk, step: Step, post: Mapping[str, str], action: str) -> dict[str, Any]:
    phase = {"add": "rise", "setting": "setting", "vent": "vent"}.get(action, post.get("phase", "rise"))
    faults = Faults()
    if phase not in PHASES:
        faults.add("not_a_choice", "list", "Choose whether it is a rising reading, the one at the setting, or vented.")
        faults.settle()
    reading = reading_in(post, phase, desk.kit.scale, faults)
    faults.settle()
    if phase == "setting":
        where = watch.reaches(desk, step.moment, reading)
        if where == "below":
            faults.add("not_reached", "stimulus", _below(desk, reading))
            faults.settle()
        if where == "above":
            reading["phase"] = "rise"  # passed the setting: kept as what it is, and the watch says what to do
    return reading


def _below(desk: Desk, reading: dict[str, Any]) -> str:
    spec, unit, typed = desk.specification, desk.stimulus_unit, reading["stimulus"]
    low = stimulus_text(spec.setting - spec.capture_tolerance, unit)
    high = stimulus_text(spec.setting + spec.capture_tolerance, unit)
    return (
        f"{typed['text']} {typed['unit']} is below the setting. Raise on until it lies from {low} to {high}, "
        "then read; or add it as a rising reading."
    )


def _go_on(desk: Desk, step: Step, readings: list[dict[str, Any]]) -> Taken:
    if not readings or readings[-1]["phase"] != "setting":
        faults = Faults()
        faults.add(
            "no_setting_reading",
            "list",
            "There is no reading at the setting since the last vent. Rise to the setting, then add the reading there.",
        )
        faults.settle()
    return Taken()


def _place(text: str, readings: list[dict[str, Any]]) -> int | None:
    return int(text) if text.isdecimal() and int(text) < len(readings) else None
