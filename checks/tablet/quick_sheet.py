"""What is typed of a paper sheet, made into a submission."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from checks.services.faults import Faults
from checks.services.paper import PAPER
from checks.tablet.quick_lines import DASHES, Line, Typed, filled, read_lines


def read_sheet(
    post: Mapping[str, str], *, key: UUID, turbocharger: int, lines: tuple[Line, ...], time_zone: str, faults: Faults
) -> Typed:
    """The submission that the typed sheet amounts to; ``faults`` names the boxes that were left open."""
    typed = Typed({})
    made_at = _moment(post, "begun", "Begun at", time_zone, faults)
    cautions = _moment(post, "cautions", "The time at which the cautions were read", time_zone, faults)
    turns = post.get("turns", "").strip()
    left = read_lines(post, "as_left", lines, typed, faults) if filled(post, "left", lines) or _turned(turns) else None
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
        "as_found": read_lines(post, "as_found", lines, typed, faults),
        "half_turns": _turns(turns, post.get("turns_way", "")),
        "as_left": left,
        "note": post.get("note", "").replace("\r\n", "\n").strip(),
        "source": PAPER,
    }
    return typed


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


def _turned(turns: str) -> bool:
    return turns.lstrip("-−+").isdecimal() and int(turns.lstrip("-−+")) != 0


def _turns(text: str, way: str) -> str | None:
    """Half turns as typed with their direction; longer counts upwards."""
    if not text or text in DASHES:
        return None
    return text if way != "shorter" or text.startswith(("-", "−", "+")) or text == "0" else f"-{text}"
