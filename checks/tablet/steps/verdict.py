"""The verdict on the stroke just made, and what is done about it."""

from collections.abc import Mapping
from typing import Any

from checks.services.faults import Faults
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet
from checks.tablet.frame import step_address
from checks.tablet.preview import preview
from checks.tablet.sequence import AS_FOUND, AS_LEFT, Step, begun_anew
from checks.tablet.taken import Taken
from checks.tablet.told import tell


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """Strip, sentence, what to do next, budget."""
    moments = (AS_FOUND,) if step.moment == AS_FOUND else (AS_FOUND, AS_LEFT)
    return {
        "verdict": tell(desk, {moment: preview(desk, moment) for moment in moments}),
        "as_left": step.moment == AS_LEFT,
        "decision": sheet.text("decision", desk.answers.get("decision")),
        "wrong_decision": sheet.wrong_with("decision"),
        "adjust_address": step_address(desk, "adjust"),
        "rise_address": step_address(desk, "rise" if step.moment == AS_FOUND else "as-left-rise"),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Leave alone or adjust; after an as-left stroke there is nothing left to decide here."""
    if post.get("action") == "anew":
        return Taken(begun_anew(desk.answers, step.moment), to="zero" if step.moment == AS_FOUND else "as-left-zero")
    if step.moment == AS_LEFT:
        return Taken({"passed": sorted({*desk.answers.get("passed", []), step.slug})})
    faults, decision = Faults(), post.get("decision", "")
    if decision not in {"leave", "adjust"}:
        faults.add("not_a_choice", "decision", "Say whether you leave the setting alone or turn the rod.")
    if decision == "adjust" and preview(desk, AS_FOUND).state.value == "void":
        faults.add(
            "void_not_adjusted",
            "decision",
            "A void reading does not say which way to turn. Repeat the stroke, or leave the setting alone "
            "and sign it as void.",
        )
    turned = desk.answers.get("half_turns")
    if decision == "leave" and turned:
        faults.add(
            "already_turned",
            "decision",
            f"Half turns are entered already ({turned:+d}). If the rod was turned, go on with the as-left stroke. "
            "If it was not, take the half turns out first.",
        )
    faults.settle()
    return Taken({"decision": decision})
