"""The form that corrects one value of a signed check, fit for what the value is."""

from dataclasses import dataclass
from typing import Any

from django import forms

from checks.models import Check, Instrument, Reading, Stroke
from checks.selectors.amended import INSTRUMENTS
from checks.selectors.instrument import instruments_of
from checks.services.amendment_fields import amendable_fields
from checks.services.readings import TRAVEL_NEEDED, scale_of
from fleet.models import User
from fleet.web.quantities import QuantityField

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
KINDS = {
    "dial": ("dial",),
    "stimulus": ("transducer", "gauge", "command"),
    "meter": ("multimeter",),
    "regulator": ("regulator",),
}


# What may be left empty: that nothing was there, or nobody read it.
MAY_BE_EMPTY = {"note", "angle_deg", "meter", "regulator"}


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
    return _label(field, _phases(check)) + moment


def shown_value(check: Check, field: str) -> str:
    """The value that holds now, as a person reads it."""
    return _shown(field, amendable_fields(check)[field])


class AmendForm(forms.Form):
    """The right value and why it is the right one. The service reads and judges both."""

    def __init__(self, *args: Any, user: User, check: Check, field: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["new_value"] = _input(user, check, field)
        self.fields["new_value"].label = "It should read"
        self.fields["new_value"].required = not _may_be_empty(check, field)
        self.fields["why"] = forms.CharField(
            label="Why",
            max_length=500,
            help_text="Stays with the old value and your name.",
            error_messages={"required": "Say why the record is amended; it stays with the old value."},
        )

    def sent(self) -> Any:
        """The new value in the form of a submission."""
        return self.cleaned_data.get("new_value")


def _input(user: User, check: Check, field: str) -> forms.Field:
    part = field.rsplit(".", 1)[-1] if "." in field else ""
    if part == "travel":
        return QuantityField(units=("thou", "mm", "in"), initial=_unit(check, field))
    if part == "stimulus":
        scale = scale_of(check.specification, check.stimulus_instrument, check.meter)
        return QuantityField(units=scale.accepted, initial=_unit(check, field))
    if field == "odometer":
        return QuantityField(units=("km", "mi"), initial=user.distance_unit)
    if field == "engine_hours":
        return QuantityField(units=("h",))
    if field in CHOICES:
        return forms.ChoiceField(choices=CHOICES[field].choices, initial=getattr(check, field))
    if field in KINDS:
        rows = instruments_of(user).filter(kind__in=KINDS[field]).order_by("label")
        tools = [(row.pk, _tool(row)) for row in rows]
        initial = getattr(check, f"{INSTRUMENTS[field]}_id") or ""
        return forms.ChoiceField(choices=[("", "none"), *tools] if field in MAY_BE_EMPTY else tools, initial=initial)
    if field == "note":
        return forms.CharField(widget=forms.Textarea(attrs={"rows": 4}), max_length=4000)
    return forms.CharField(max_length=24)


def _may_be_empty(check: Check, field: str) -> bool:
    if not field.endswith(".travel"):
        return field in MAY_BE_EMPTY
    return _phases(check)[field.rsplit(".", 1)[0]].phase not in TRAVEL_NEEDED


def _unit(check: Check, field: str) -> str:
    return (amendable_fields(check)[field].rsplit(" ", 1)[-1:] or [""])[0]


def _tool(row: Instrument) -> str:
    return f"{row.label}, {row.get_kind_display()}, {row.depot}"


def _phases(check: Check) -> dict[str, Reading]:
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
    return value.rsplit(" #", 1)[0] if field in KINDS else value
