"""What may be amended of a check, as its page lists it."""

from dataclasses import dataclass

from checks.models import Check, Reading, Stroke
from checks.selectors.amended import INSTRUMENTS
from checks.services.amendment_fields import amendable_fields

LABELS = {
    "reason": "Reason of the check",
    "odometer": "Odometer",
    "engine_hours": "Engine hours",
    "dial": "Dial indicator",
    "stimulus": "Pressure instrument or command tool",
    "meter": "Multimeter",
    "regulator": "Regulator",
    "geometry": "How the plunger meets the moving part",
    "angle_deg": "Angle of the dial, degrees",
    "angle_max_deg": "Largest angle of the dial, degrees",
    "half_turns": "Half turns done",
    "note": "Note",
}
PARTS = {"stimulus": "stimulus", "travel": "travel", "seconds": "seconds since the supply was closed"}
CHOICES = {"reason": Check.Reason, "geometry": Check.Geometry}


@dataclass(frozen=True, slots=True)
class Line:
    """One value that may be amended, as the page lists it."""

    field: str
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading with its values in the order of the columns."""

    name: str
    cells: tuple[Line, ...]


def check_lines(check: Check) -> list[Line]:
    """Values of the check itself."""
    values = amendable_fields(check)
    return [Line(field, LABELS[field], _shown(field, value)) for field, value in values.items() if "." not in field]


def stroke_lines(check: Check) -> list[tuple[str, list[ReadingLine]]]:
    """Each stroke by its name, with its readings in the order made."""
    values, strokes = amendable_fields(check), []
    for stroke in check.strokes.all():
        rows = [
            ReadingLine(name := f"{row.order + 1}. {row.get_phase_display()}", tuple(
                Line(field, f"{name}: {PARTS[part]}", values[field])
                for part in PARTS
                if (field := f"{stroke.moment}.{row.order}.{part}") in values
            ))
            for row in stroke.readings.all()
        ]  # fmt: skip
        strokes.append((str(stroke.get_moment_display()).capitalize(), rows))
    return strokes


def label_of(check: Check, field: str) -> str:
    """What a field is called, with its stroke where it belongs to one."""
    moment = f", {Stroke.Moment(field.split('.')[0]).label}" if "." in field else ""
    return _label(field, readings_by_path(check)) + moment


def shown_value(check: Check, field: str) -> str:
    """The value that holds now, as a person reads it."""
    return _shown(field, amendable_fields(check)[field])


def readings_by_path(check: Check) -> dict[str, Reading]:
    """Readings by moment and order, such as ``as_found.7``."""
    return {f"{stroke.moment}.{row.order}": row for stroke in check.strokes.all() for row in stroke.readings.all()}


def _label(field: str, phases: dict[str, Reading]) -> str:
    if "." not in field:
        return LABELS[field]
    path, part = field.rsplit(".", 1)
    row = phases[path]
    return f"{row.order + 1}. {row.get_phase_display()}: {PARTS[part]}"


def _shown(field: str, value: str) -> str:
    if field in CHOICES and value:
        return str(CHOICES[field](value).label)
    return value.rsplit(" #", 1)[0] if field in INSTRUMENTS else value
