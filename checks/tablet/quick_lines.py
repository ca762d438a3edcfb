"""The lines of the paper sheet in their order, and what is typed into those of one stroke."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from checks.services.faults import Faults

RISES, FALLS = 8, 2
MOMENTS = {"as_found": "found", "as_left": "left"}
# Written where the sheet has a line that nobody filled: then nothing was read there.
DASHES = {"-", "–", "—", "−"}
VENT = "v"
PLACES = {
    "made_at": "day",
    "cautions_read_at": "cautions",
    "instruments.dial": "dial",
    "instruments.stimulus": "stimulus",
    "instruments.meter": "meter",
    "instruments.regulator": "regulator",
    "alignment.geometry": "geometry",
    "alignment.angle_max_deg": "angle_max",
    "half_turns": "turns",
    "as_left": "turns",
    "as_found.readings": "found-zero-p",
    "as_left.readings": "left-zero-p",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a stroke. ``needed`` lines are filled, or struck out with a dash."""

    slug: str
    phase: str
    title: str
    needed: bool = False
    travel: bool = True
    seconds: bool = False


@dataclass(slots=True)
class Typed:
    """What a sheet amounts to, and where on the page each field of the submission was typed."""

    submission: dict[str, Any]
    places: dict[str, str] = field(default_factory=dict)

    def place_of(self, error_field: str, code: str) -> str:
        """The box in which a fault is mended; empty where there is none."""
        if code == "wrong_unit" and error_field.endswith(("stimulus", "travel")):
            return "p_unit" if error_field.endswith("stimulus") else "x_unit"
        return self.places.get(error_field) or PLACES.get(error_field, error_field)


def lines_for(cycles: int, *, electric: bool) -> tuple[Line, ...]:
    """The lines of one stroke, as the printed sheet has them."""
    vented = "command at zero" if electric else "vented"
    return (
        Line("zero", "zero", f"Zero, {vented}", needed=True),
        *(
            Line(f"exercise-{i}", "exercise", f"Exercise {i}, highest", True, travel=False)
            for i in range(1, cycles + 1)
        ),
        *((Line("back", "zero_return", f"Back at zero, {vented}", needed=True),) if cycles else ()),
        *(Line(f"rise-{i}", "rise", f"Rise {i}") for i in range(1, RISES + 1)),
        Line("setting", "setting", "At the setting", needed=True),
        *(Line(f"fall-{i}", "fall", f"Fall {i}") for i in range(1, FALLS + 1)),
        *(() if electric else (Line("hold", "hold", "Hold, supply closed", seconds=True),)),
    )


def read_lines(
    post: Mapping[str, str], moment: str, lines: tuple[Line, ...], typed: Typed, faults: Faults
) -> dict[str, Any]:
    """The readings of a stroke as a submission has them; ``typed`` learns where each was typed."""
    readings: list[dict[str, Any]] = []
    for line in lines:
        name = f"{MOMENTS[moment]}-{line.slug}"
        text, travel = post.get(f"{name}-p", "").strip(), post.get(f"{name}-x", "").strip()
        if text in DASHES:
            continue
        if not text and not travel:
            if line.needed:
                faults.add("line_empty", f"{name}-p", f"{line.title}: fill this line, or write - if nothing was read.")
            continue
        for part, box in (("stimulus", "p"), ("travel", "x"), ("seconds", "s"), ("phase", "p")):
            typed.places[f"{moment}.readings.{len(readings)}.{part}"] = f"{name}-{box}"
        readings.append(_reading(post, name, line, text, travel))
    return {"readings": readings}


def _reading(post: Mapping[str, str], name: str, line: Line, text: str, travel: str) -> dict[str, Any]:
    vent = line.phase == "rise" and text[:1].lower() == VENT
    return {
        "phase": "vent" if vent else line.phase,
        "stimulus": {"text": text[1:].strip() if vent else text, "unit": post.get("p_unit", "")},
        "travel": {"text": travel, "unit": post.get("x_unit", "")} if travel else None,
        "seconds": post.get(f"{name}-s", "").strip() if line.seconds else None,
    }


def filled(post: Mapping[str, str], moment: str, lines: tuple[Line, ...]) -> bool:
    """Whether any line of a stroke holds anything."""
    return any(post.get(f"{moment}-{line.slug}-{box}", "").strip() for line in lines for box in "px")
