"""Forms that hand on what was typed: the services read it, judge it and say what is wrong, for pages and programs."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField

from fleet.models import User
from fleet.problems import FleetError, each_error
from fleet.web.quantities import QuantityField

# The person's own choice of unit, by the unit in which a quantity is kept.
CHOSEN = {"kPa": "pressure_unit", "mm": "length_unit", "km": "distance_unit"}


def own_unit(user: User, kept: str) -> str:
    """The unit in which `user` reads a quantity that is kept in `kept`."""
    return str(getattr(user, CHOSEN[kept])) if kept in CHOSEN else kept


class EntryForm(forms.Form):
    """A form without rules of its own: ``entry`` is what was typed, and `show` puts the service's sentences in."""

    use_required_attribute = False
    groups: Sequence[tuple[str, Sequence[str]]] = ()

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.doubts: list[str] = []

    def _clean_fields(self) -> None:
        for name, bound in self._bound_items():  # type: ignore[attr-defined]
            self.cleaned_data[name] = bound.data

    @property
    def entry(self) -> dict[str, Any]:
        """Field name to text, or to [text, unit]."""
        self.full_clean()
        return dict(self.cleaned_data) | {"confirmed": bool(self.data.get("confirmed"))}

    def show(self, refusal: FleetError) -> None:
        """Put each sentence beside its field, or over the form."""
        for fault in each_error(refusal):
            self.show_one(fault)

    def show_one(self, fault: FleetError) -> None:
        """Put one sentence in."""
        error = forms.ValidationError(fault.sentence, code=fault.code)
        self.add_error(fault.field if fault.field in self.fields else None, error)

    def doubt(self, doubts: FleetError) -> None:
        """Ask whether values that look mistaken are meant."""
        self.doubts = [doubt.sentence for doubt in each_error(doubts)]

    def fieldsets(self) -> Iterable[tuple[str, list[BoundField]]]:
        """Legend and fields of each group."""
        for legend, names in self.groups:
            yield legend, [self[name] for name in names if name in self.fields]


def text_field(label: str, *, hint: str = "", required: bool = True, long: bool = False) -> forms.CharField:
    """A line of text, or several."""
    widget = forms.Textarea(attrs={"rows": 3}) if long else forms.TextInput(attrs={"autocomplete": "off"})
    return forms.CharField(label=label, help_text=hint, required=required, widget=widget)


def reason_field(label: str = "Reason") -> forms.CharField:
    """Why something is changed."""
    return text_field(label, hint="Kept in the record of changes.")


def day_field(label: str, *, hint: str = "", required: bool = True) -> forms.CharField:
    """A day; the browser's own calendar where it has one."""
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.CharField(label=label, help_text=hint, required=required, widget=widget)


def whole_field(label: str, *, hint: str = "") -> forms.CharField:
    """A whole number."""
    return forms.CharField(
        label=label, help_text=hint, widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
    )


def choice_field(
    label: str, choices: Mapping[Any, str] | Sequence[tuple[Any, str]], *, hint: str = "", required: bool = True
) -> forms.CharField:
    """One of a few."""
    pairs = list(choices.items()) if isinstance(choices, Mapping) else list(choices)
    return forms.CharField(label=label, help_text=hint, required=required, widget=forms.Select(choices=pairs))


def quantity_field(label: str, units: Sequence[str], *, hint: str = "", required: bool = True) -> QuantityField:
    """A number and its unit."""
    return QuantityField(units=units, label=label, help_text=hint, required=required)


def as_typed(typed: Mapping[str, Sequence[str]], names: Iterable[str]) -> dict[str, dict[str, str]]:
    """Initial values of quantity fields from what was typed the last time."""
    return {name: {"text": typed[name][0], "unit": typed[name][1]} for name in names if name in typed}
