"""Instruments fit for a check as a sheet of paper names them: what they show at the setting, and what proves what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from checks.convert import to_specification
from checks.display import length_text, lengths_text, stimulus_text
from checks.measurement.errors import MeasurementError
from checks.models import SpecificationRevision
from checks.selectors.fitness import Tools
from checks.selectors.grounds import Grounds
from checks.services.readings import scale_of
from checks.tablet.marks import set_marks
from fleet.models import User

SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SetLine:
    """One set of instruments; indications are above what each shows vented, texts empty where nothing proves it."""

    labels: str
    setting: str
    maximum: str
    inside: str
    outside: str


def fit_lines(
    specification: SpecificationRevision, grounds: Grounds, sets: Sequence[Tools], *, on: date, user: User
) -> tuple[SetLine, ...]:
    """The surest of `sets` that can prove the window on the day `on`; no query."""
    core, found = to_specification(specification), []
    for tools in sets:
        try:
            marks = set_marks(core=core, grounds=grounds, tools=tools, on=on)
        except MeasurementError:
            continue
        limits = marks["limits"]["flat_face"]
        if not limits["problems"]:
            found.append((limits["expanded_mm"], _line(specification, tools, marks, limits, user)))
    return tuple(line for _, line in sorted(found, key=lambda one: (one[0], one[1].labels))[:SHOWN])


def _line(
    specification: SpecificationRevision, tools: Tools, marks: dict[str, Any], limits: dict[str, Any], user: User
) -> SetLine:
    dial, stimulus, meter = tools
    unit, length = scale_of(specification, stimulus, meter).unit, user.length_unit
    decimals = max(0, len(f"{meter.division:.6f}".rstrip("0").split(".")[1])) if meter and meter.division else 1

    def shown(value: float) -> str:
        if unit in ("kPa", "%"):
            return stimulus_text(value, user.pressure_unit if unit == "kPa" else "%")
        return f"{value:.{decimals}f} {unit}".replace("-", "−")

    inside = limits["inside_from"] is not None and limits["inside_to"] is not None
    return SetLine(
        labels=" + ".join(row.label for row in (dial, stimulus, meter) if row),
        setting=shown(marks["setting"]),
        maximum=shown(marks["maximum"]),
        inside=lengths_text(limits["inside_from"], limits["inside_to"], length) if inside else "",
        outside=(
            f"below {length_text(limits['outside_below'], length, with_unit=False)} "
            f"or above {length_text(limits['outside_above'], length)}"
        ),
    )
