"""The form that corrects one value of a signed check, fit for what the value is."""

from typing import Any

from django import forms

from checks.models import Check, Instrument
from checks.models.instrument_parts import kinds_for
from checks.pages.amend_lines import CHOICES, readings_by_path
from checks.selectors.amended import INSTRUMENTS
from checks.selectors.instrument import instruments_of
from checks.services.amendment_fields import amendable_fields
from checks.services.readings import TRAVEL_NEEDED, scale_of
from fleet.models import User
from fleet.web.quantities import QuantityField

# What may be left empty: that nothing was there, or nobody read it.
MAY_BE_EMPTY = {"note", "angle_deg", "meter", "regulator"}


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
    if field in INSTRUMENTS:
        electric = check.specification.turbocharger_model.stimulus == "electric"
        rows = instruments_of(user).filter(kind__in=kinds_for(field, electric=electric)).order_by("label")
        tools = [(row.pk, _tool(row)) for row in rows]
        initial = getattr(check, f"{INSTRUMENTS[field]}_id") or ""
        return forms.ChoiceField(choices=[("", "none"), *tools] if field in MAY_BE_EMPTY else tools, initial=initial)
    if field == "note":
        return forms.CharField(widget=forms.Textarea(attrs={"rows": 4}), max_length=4000)
    return forms.CharField(max_length=24)


def _may_be_empty(check: Check, field: str) -> bool:
    if not field.endswith(".travel"):
        return field in MAY_BE_EMPTY
    return readings_by_path(check)[field.rsplit(".", 1)[0]].phase not in TRAVEL_NEEDED


def _unit(check: Check, field: str) -> str:
    return (amendable_fields(check)[field].rsplit(" ", 1)[-1:] or [""])[0]


def _tool(row: Instrument) -> str:
    return f"{row.label}, {row.get_kind_display()}, {row.depot}"
