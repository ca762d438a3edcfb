"""A number and its unit in one field of a form. It hands on what was typed; the services read, judge and keep it."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms import BaseForm, BoundField


class QuantityWidget(forms.MultiWidget):
    """A text input for the number, since browsers hide what they cannot parse in a number input, and its unit."""

    template_name = "fleet/forms/quantity.html"
    use_fieldset = False

    def __init__(self, units: Sequence[str], **options: Any) -> None:
        number = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "maxlength": 24})
        choices = [(unit, unit) for unit in units]
        super().__init__({"text": number, "unit": forms.Select(choices=choices)}, **options)

    def id_for_label(self, id_: str) -> str:
        return f"{id_}_0" if id_ else id_

    def decompress(self, value: Any) -> list[Any]:
        """Split ``{"text", "unit"}``; a bare unit may be given as the unit to begin with."""
        if isinstance(value, dict):
            return [value.get("text", ""), value.get("unit", "")]
        return ["", value or ""]


class QuantityField(forms.MultiValueField):
    """Cleans to ``{"text": ..., "unit": ...}`` exactly as typed, or None when an optional number was left empty."""

    def __init__(self, *, units: Sequence[str], **options: Any) -> None:
        parts = (
            forms.CharField(max_length=24, required=False),
            forms.ChoiceField(
                choices=[(unit, unit) for unit in units],
                required=False,
                error_messages={
                    "invalid_choice": f"The unit '%(value)s' is not accepted here; use {' or '.join(units)}."
                },
            ),
        )
        super().__init__(parts, widget=QuantityWidget(units), require_all_fields=False, **options)
        self.error_messages["required"] = "Enter a number with its unit."

    def get_bound_field(self, form: BaseForm, field_name: str) -> BoundField:
        """Name the unit's select after the field, for those who hear the form."""
        bound = super().get_bound_field(form, field_name)
        self.widget.widgets[1].attrs["aria-label"] = f"Unit of {bound.label}"
        return bound

    def clean(self, value: Any) -> dict[str, str] | None:
        """Refuse a missing number though a unit is always chosen, and keep everything else as typed."""
        text, unit = [*(value or []), "", ""][:2]
        if not str(text or "").strip():
            if self.required:
                raise forms.ValidationError(self.error_messages["required"], code="required")
            return None
        return super().clean([text, unit])

    def compress(self, data_list: Sequence[Any]) -> dict[str, str]:
        return {"text": str(data_list[0]).strip(), "unit": str(data_list[1])}
