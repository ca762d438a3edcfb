"""Everything once more, a note, and the signature."""

from collections.abc import Mapping
from typing import Any

from checks.components import half_turns_text
from checks.display import lengths_text
from checks.models import Check
from checks.selectors.specification import revision_in_force
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet
from checks.tablet.preview import preview
from checks.tablet.sequence import AS_FOUND, AS_LEFT, MOMENTS, Step
from checks.tablet.strokes import readings_of
from checks.tablet.taken import Taken
from checks.tablet.told import tell
from checks.tablet.words import LEADS


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """The verdicts, what was done, with what, and a box for a note."""
    answers = desk.answers
    moments = [AS_FOUND, AS_LEFT] if answers.get("decision") == "adjust" else [AS_FOUND]
    verdicts = {moment: preview(desk, moment) for moment in moments}
    return {
        "verdict": tell(desk, verdicts),
        "found": [(MOMENTS[moment], one.state.value) for moment, one in verdicts.items()],
        "turned": half_turns_text(answers["half_turns"]) if answers.get("half_turns") else "",
        "facts": _facts(desk),
        "signed_as": LEADS["signed"].format(person=desk.user.display_name),
        "note": sheet.text("note", answers.get("note")),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the note; signing itself is the view's one call of ``record_check``.

    Where another revision came into force since the check was begun, the person may go on by that one: its
    verdict is shown before anything is signed.
    """
    if post.get("action") == "other-revision":
        revision = revision_in_force(desk.turbocharger.model, desk.made_on)
        return Taken({"specification": revision.pk} if revision else {}, to="verdict")
    return Taken({"note": post.get("note", "").replace("\r\n", "\n").strip()})


def _facts(desk: Desk) -> list[tuple[str, str]]:
    answers, kit, spec = desk.answers, desk.kit, desk.specification
    meters = [answers.get("odometer"), answers.get("engine_hours")]
    tools = [kit.dial, kit.stimulus, kit.meter, kit.regulator]
    count = sum(len(readings_of(answers, moment)) for moment in MOMENTS)
    unit = desk.length_unit
    window = lengths_text(spec.lower_mm, spec.upper_mm, unit)
    return [
        ("Reason", Check.Reason(answers["reason"]).label),
        ("Meter", ", ".join(f"{typed['text']} {typed['unit']}" for typed in meters if typed) or "not in a truck"),
        ("Specification", f"revision {spec.revision}, window {window}"),
        ("Instruments", ", ".join(str(tool) for tool in tools if tool)),
        ("Readings", str(count)),
    ]
