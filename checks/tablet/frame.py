"""What every screen of the sequence shows around its own part."""

import re
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from checks.tablet.cautions import one_line
from checks.tablet.desk import Desk
from checks.tablet.sequence import AS_FOUND, EVERY, Step, before, first_open, steps_for
from checks.tablet.strokes import readings_of
from checks.tablet.words import UNSAFE
from fleet.problems import FleetError

OWN_STEP = {
    "reason": "reason",
    "complaint": "reason",
    "odometer": "reason",
    "engine_hours": "reason",
    "instruments": "instruments",
    "alignment": "instruments",
    "cautions_read_at": "cautions",
    "half_turns": "adjust",
    "as_left": "adjust",
    "note": "sign",
    "made_at": "zero",
}
READING = re.compile(r"(as_found|as_left)\.readings\.(\d+)\.")


@dataclass(frozen=True, slots=True)
class Stage:
    """One step in the line of steps. ``state``: 'done', 'here', 'open', 'ahead'."""

    title: str
    address: str
    state: str


@dataclass(frozen=True, slots=True)
class ToMend:
    """One thing that is wrong: on this screen (``field``), or on another one (``address``)."""

    sentence: str
    field: str
    address: str
    title: str


def frame(desk: Desk, place: Step) -> dict[str, Any]:
    """Unit, steps, caution of the moment, and the way back."""
    steps = steps_for(desk.answers, desk.cycles)
    previous = before(place, desk.answers, desk.cycles)
    return {
        "draft": desk.draft,
        "turbocharger": desk.turbocharger,
        "safety_flag": desk.told(desk.turbocharger.safety_flag),
        "place": desk.place,
        "specification": desk.specification,
        "electric": desk.electric,
        "step": place,
        "number": steps.index(place) + 1,
        "of": len(steps),
        "stages": _stages(desk, place, steps),
        "back": step_address(desk, previous.slug) if previous else "",
        "address": step_address(desk, place.slug),
        "unsafe_words": UNSAFE,
        "caution": one_line(place.kind, desk.stimulus, desk.maximum),
    }


def step_address(desk: Desk, slug: str) -> str:
    """Where a step of this check is."""
    return reverse("checks:step", args=[desk.draft.key, slug])


def places_to_mend(desk: Desk, place: Step, errors: list[FleetError]) -> list[ToMend]:
    """Each error with the way to the box or the screen where it is mended."""
    told = []
    for error in errors:
        slug = _step_of(desk, error.field) if place.kind == "sign" else place.slug
        here = slug in ("", place.slug)
        told.append(
            ToMend(
                sentence=error.sentence,
                field=error.field if here else "",
                address="" if here else step_address(desk, slug),
                title="" if here else EVERY[slug].title,
            )
        )
    return told


def _stages(desk: Desk, place: Step, steps: tuple[Step, ...]) -> list[Stage]:
    reached = steps.index(first_open(desk.answers, desk.cycles))
    here = steps.index(place)

    def state(i: int) -> str:
        if i == here:
            return "here"
        return "done" if i < reached else "open" if i == reached else "ahead"

    return [Stage(step.title, step_address(desk, step.slug), state(i)) for i, step in enumerate(steps)]


def _step_of(desk: Desk, field: str) -> str:
    """The step on which a field of the submission is entered; empty where it has none."""
    reading = READING.match(field)
    if reading is None:
        return OWN_STEP.get(field.split(".")[0], "")
    moment, index = reading[1], int(reading[2])
    readings = readings_of(desk.answers, moment)
    phase = readings[index]["phase"] if index < len(readings) else "rise"
    kind = {"zero_return": "zero-return", "setting": "rise", "vent": "rise", "hold": "fall"}.get(phase, phase)
    return kind if moment == AS_FOUND else f"as-left-{kind}"
