"""The lines of the paper sheet in their order, and what is typed into them made into a submission."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from checks.services.faults import Faults
from checks.services.paper import PAPER

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


def read_sheet(
    post: Mapping[str, str], *, key: UUID, turbocharger: int, lines: tuple[Line, ...], time_zone: str, faults: Faults
) -> Typed:
    """The submission that the typed sheet amounts to; ``faults`` names the boxes that were left open."""
    typed = Typed({})
    made_at = _moment(post, "begun", "Begun at", time_zone, faults)
    cautions = _moment(post, "cautions", "The time at which the cautions were read", time_zone, faults)
    turns = post.get("turns", "").strip()
    left = _stroke(post, "as_left", lines, typed, faults) if _any(post, "left", lines) or _turned(turns) else None
    typed.submission = {
        "key": str(key),
        "turbocharger": turbocharger,
        "specification": _number(post, "specification"),
        "reason": post.get("reason", ""),
        "complaint": _number(post, "complaint"),
        "made_at": made_at,
        "odometer": _quantity(post, "odometer", post.get("odometer_unit", "")),
        "engine_hours": _quantity(post, "engine_hours", "h"),
        "instruments": {role: _number(post, role) for role in ("dial", "stimulus", "meter", "regulator")},
        "alignment": {
            "geometry": post.get("geometry", ""),
            "angle_deg": None,
            "angle_max_deg": post.get("angle_max", "").strip(),
        },
        "cautions_read_at": cautions,
        "as_found": _stroke(post, "as_found", lines, typed, faults),
        "half_turns": _turns(turns, post.get("turns_way", "")),
        "as_left": left,
        "note": post.get("note", "").replace("\r\n", "\n").strip(),
        "source": PAPER,
    }
    return typed


def _stroke(
    post: Mapping[str, str], moment: str, lines: tuple[Line, ...], typed: Typed, faults: Faults
) -> dict[str, Any]:
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


def _moment(post: Mapping[str, str], name: str, title: str, time_zone: str, faults: Faults) -> str | None:
    """A time of the sheet's day as the server takes it, or a fault at its box."""
    day, time = post.get("day", "").strip(), post.get(name, "").strip().replace(".", ":").replace(" ", "")
    if len(time) == 4 and time.isdecimal():
        time = f"{time[:2]}:{time[2:]}"
    try:
        on = datetime.strptime(day, "%Y-%m-%d")  # noqa: DTZ007 - the depot's time zone follows below
    except ValueError:
        if name == "begun":
            faults.add("not_a_date", "day", f"'{day[:20]}' is no day. Write it as 2026-03-14.")
        return None
    try:
        at = datetime.strptime(time, "%H:%M").time()  # noqa: DTZ007
    except ValueError:
        faults.add("not_a_time", name, f"{title}: '{time[:20]}' is no time. Write it as 14:05.")
        return None
    return datetime.combine(on, at, ZoneInfo(time_zone)).isoformat()


def _quantity(post: Mapping[str, str], name: str, unit: str) -> dict[str, str] | None:
    text = post.get(name, "").strip()
    return {"text": text, "unit": unit} if text else None


def _number(post: Mapping[str, str], name: str) -> int | None:
    text = post.get(name, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 16 else None


def _any(post: Mapping[str, str], moment: str, lines: tuple[Line, ...]) -> bool:
    return any(post.get(f"{moment}-{line.slug}-{box}", "").strip() for line in lines for box in "px")


def _turned(turns: str) -> bool:
    return turns.lstrip("-−+").isdecimal() and int(turns.lstrip("-−+")) != 0


def _turns(text: str, way: str) -> str | None:
    """Half turns as typed with their direction; longer counts upwards."""
    if not text or text in DASHES:
        return None
    return text if way != "shorter" or text.startswith(("-", "−", "+")) or text == "0" else f"-{text}"
