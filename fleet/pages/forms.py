"""The register's forms: what each asks, in the words of the page. They read; the services judge."""

from typing import Any

from django import forms

from fleet.models import Engine, Truck, Turbocharger, TurbochargerModel, User
from fleet.pages.fields import DayField, DepotField, ModelField
from fleet.selectors.turbocharger import PLACES
from fleet.web.access import MANAGER


class UserForm(forms.Form):
    """A form that is told who fills it in, since many offer what that person may choose."""

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)


class OfDepotForm(UserForm):
    """A form about something that belongs to one of the depots which its person manages."""

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["depot"] = DepotField(user, role=MANAGER, empty_label=None)
        self.order_fields(self.field_order)


class Filters(forms.Form):
    """Narrows a list: by text and depot."""

    find = forms.CharField(required=False, max_length=60, widget=forms.TextInput(attrs={"type": "search"}))

    def __init__(self, user: User, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.fields["depot"] = DepotField(user, required=False, empty_label="all depots")


class TruckFilters(Filters):
    retired = forms.ChoiceField(label="State", required=False, choices=[("", "in service"), ("yes", "retired")])


class TurbochargerFilters(Filters):
    model = ModelField(required=False, empty_label="all models")
    place = forms.ChoiceField(required=False, choices=[("", "anywhere"), *PLACES.items()])


class TruckForm(OfDepotForm):
    field_order = ("unit_number", "depot")
    unit_number = forms.CharField(max_length=24)
    description = forms.CharField(max_length=120, required=False)
    vin = forms.CharField(label="VIN", max_length=40, required=False, help_text="17 characters, never I, O or Q.")
    check_digit = forms.ChoiceField(
        label="Check digit of the VIN", choices=Truck.CheckDigit.choices, initial=Truck.CheckDigit.REQUIRED,
        help_text="Trucks sold in North America carry one (49 CFR 565.15); others need not.",
    )  # fmt: skip
    in_service_on = DayField(label="In service from")


class TruckEditForm(TruckForm):
    retired_on = DayField(required=False, help_text="Keeps the truck's history and takes it off the lists.")
    reason = forms.CharField(max_length=100, required=False, help_text="Goes into the record of changes.")


class EngineForm(OfDepotForm):
    serial = forms.CharField(label="Serial number", max_length=40)
    model = forms.CharField(max_length=60)
    layout = forms.ChoiceField(label="Turbochargers", choices=Engine.Layout.choices)


class TurboModelForm(UserForm):
    name = forms.CharField(max_length=60)
    stimulus = forms.ChoiceField(label="Actuator", choices=TurbochargerModel.Stimulus.choices)
    note = forms.CharField(required=False, widget=forms.Textarea)


class TurbochargerForm(OfDepotForm):
    serial = forms.CharField(label="Serial number", max_length=40)
    model = ModelField()
    origin = forms.ChoiceField(label="New or reconditioned", choices=Turbocharger.Origin.choices)
    received_on = DayField(label="Received on")


class TurbochargerEditForm(TurbochargerForm):
    scrapped_on = DayField(required=False, help_text="Keeps the history and takes it off the lists.")
    reason = forms.CharField(max_length=100, required=False, help_text="Goes into the record of changes.")


class NoteForm(UserForm):
    text = forms.CharField(label="Note", widget=forms.Textarea, max_length=4000)
