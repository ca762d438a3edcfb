"""Both instruments vented: zero before exercise, and back at zero after it."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from checks.services.faults import Faults
from checks.tablet import watch
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet, reading_in
from checks.tablet.frame import step_address
from checks.tablet.pair import pair_fields
from checks.tablet.sequence import AS_FOUND, Step
from checks.tablet.strokes import readings_of, replace_section
from checks.tablet.taken import Taken
from checks.tablet.words import LEADS, NOT_BACK, ZERO


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """The two vented readings, and after exercise whether they count as zero."""
    phase = _phase(step)
    kept = readings_of(desk.answers, step.moment, phase)
    instrument = "the meter" if desk.kit.meter else "the gauge"
    return {
        "fields": pair_fields(desk, sheet, kept[-1] if kept else None, signed=True),
        "kept": bool(kept),
        "not_back": watch.zero_return(desk, step.moment) if kept and phase == "zero_return" else [],
        "orders": [line.format(instrument=instrument) for line in ZERO[desk.stimulus]],
        "lead": LEADS[f"zero-return-{desk.stimulus}"],
        "not_back_then": NOT_BACK["then"],
        "zero_address": step_address(desk, "zero" if step.moment == AS_FOUND else "as-left-zero"),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the vented readings; the first zero of the check is when the check was made."""
    phase, faults = _phase(step), Faults()
    reading = reading_in(post, phase, desk.kit.scale, faults)
    faults.settle()
    answers = replace_section(desk.answers, step.moment, (phase,), [reading])
    if step.moment == AS_FOUND and not desk.answers.get("made_at"):
        answers["made_at"] = timezone.now().isoformat()
    # A return that is not one is shown where it was entered, before anything is built on it.
    bad = phase == "zero_return" and _not_back(desk, step, reading)
    return Taken(answers, stay=bad and not _was_shown(desk, step, reading))


def _phase(step: Step) -> str:
    return step.kind.replace("-", "_")


def _not_back(desk: Desk, step: Step, reading: dict[str, Any]) -> bool:
    others = [one for one in readings_of(desk.answers, step.moment) if one["phase"] in {"zero", "exercise"}]
    evidence = watch.evidence_of(desk, step.moment, [*others, reading])
    return evidence is not None and any(watch.no_zero_return.find(evidence))


def _was_shown(desk: Desk, step: Step, reading: dict[str, Any]) -> bool:
    """The same reading sent again: the technician has seen the warning and goes on."""
    return readings_of(desk.answers, step.moment, "zero_return") == [reading]
