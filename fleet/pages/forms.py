"""The register's forms: what each asks, in the words of the page. They read; the services judge."""

import calendar
from typing import Any

from django import forms
from django.utils import timezone

from fleet.models import Engine, Fitment, Membership, Truck, Turbocharger, TurbochargerModel, User
from fleet.pages.fields import DayField, DepotField, MeterForm, ModelField, ShortNameField
from fleet.selectors.turbocharger import PLACES

MANAGER = Membership.Role.MANAGER
POSITIONS = [("single", "single"), ("front", "front (of two)"), ("rear", "rear (of two)")]


class UserForm(forms.Form):
    """A form that knows who fills it in."""

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.user = user


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


class DepotForm(UserForm):
    name = forms.CharField(max_length=80)
    code = ShortNameField(label="Short name")
    time_zone = forms.CharField(max_length=64, initial="UTC", help_text="Such as Europe/London.")
    checks_per_day = forms.IntegerField(
        label="Checks per day",
        min_value=0,
        max_value=999,
        initial=4,
        help_text="What the bay can make on a working day.",
    )
    working_days = forms.MultipleChoiceField(
        choices=[(str(number), name) for number, name in enumerate(calendar.day_name, start=1)],
        initial=list("12345"),
        widget=forms.CheckboxSelectMultiple,
        help_text="On which the bay works.",
    )

    def clean_working_days(self) -> str:
        """The days' numbers in order, Monday 1 to Sunday 7."""
        return "".join(sorted(self.cleaned_data["working_days"]))


class PersonForm(UserForm):
    username = forms.CharField(max_length=150, help_text="Someone who signs in already needs only this and a role.")
    role = forms.ChoiceField(choices=Membership.Role.choices)
    first_name = forms.CharField(max_length=150, required=False)
    last_name = forms.CharField(max_length=150, required=False)
    password = forms.CharField(
        required=False, max_length=128, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        label="First password", help_text="At least 12 characters; only for somebody new.",
    )  # fmt: skip

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["depot"] = DepotField(user, role=MANAGER, empty_label=None)
        self.order_fields(["depot", "username", "role"])


class RoleForm(UserForm):
    role = forms.ChoiceField(choices=Membership.Role.choices)


class TruckForm(UserForm):
    unit_number = forms.CharField(max_length=24)
    description = forms.CharField(max_length=120, required=False)
    vin = forms.CharField(label="VIN", max_length=40, required=False, help_text="17 characters, never I, O or Q.")
    check_digit = forms.ChoiceField(
        label="Check digit of the VIN", choices=Truck.CheckDigit.choices, initial=Truck.CheckDigit.REQUIRED,
        help_text="Trucks sold in North America carry one (49 CFR 565.15); others need not.",
    )  # fmt: skip
    in_service_on = DayField(label="In service from")

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["depot"] = DepotField(user, role=MANAGER, empty_label=None)
        self.order_fields(["unit_number", "depot"])


class TruckEditForm(TruckForm):
    retired_on = DayField(required=False, help_text="Keeps the truck's history and takes it off the lists.")
    reason = forms.CharField(max_length=100, required=False, help_text="Goes into the record of changes.")


class EngineForm(UserForm):
    serial = forms.CharField(label="Serial number", max_length=40)
    model = forms.CharField(max_length=60)
    layout = forms.ChoiceField(label="Turbochargers", choices=Engine.Layout.choices)

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["depot"] = DepotField(user, role=MANAGER, empty_label=None)


class InstallForm(UserForm):
    truck = forms.CharField(label="Truck, by unit number", max_length=24)
    installed_on = DayField(label="Installed on", initial=timezone.localdate)


class UninstallForm(UserForm):
    removed_on = DayField(label="Removed on", initial=timezone.localdate)


class TurboModelForm(UserForm):
    name = forms.CharField(max_length=60)
    stimulus = forms.ChoiceField(label="Actuator", choices=TurbochargerModel.Stimulus.choices)
    note = forms.CharField(required=False, widget=forms.Textarea)


class TurbochargerForm(UserForm):
    serial = forms.CharField(label="Serial number", max_length=40)
    model = ModelField()
    origin = forms.ChoiceField(label="New or reconditioned", choices=Turbocharger.Origin.choices)
    received_on = DayField(label="Received on")

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["depot"] = DepotField(user, role=MANAGER, empty_label=None)


class TurbochargerEditForm(TurbochargerForm):
    scrapped_on = DayField(required=False, help_text="Keeps the history and takes it off the lists.")
    reason = forms.CharField(max_length=100, required=False, help_text="Goes into the record of changes.")


class FitForm(MeterForm):
    engine = forms.CharField(label="Engine serial, or unit number of its truck", max_length=40)
    position = forms.ChoiceField(choices=POSITIONS, initial=Fitment.Position.SINGLE)
    fitted_on = DayField(label="Fitted on", initial=timezone.localdate)


class RemoveForm(MeterForm):
    removed_on = DayField(label="Removed on", initial=timezone.localdate)
    reason = forms.CharField(label="Why it came off", max_length=200, required=False)


class SwapForm(MeterForm):
    on = forms.CharField(
        label="Serial number of the one that goes on", max_length=40,
        help_text="From stock, or its twin on the same engine: then the two change places.",
    )  # fmt: skip
    swapped_on = DayField(label="Swapped on", initial=timezone.localdate)
    reason = forms.CharField(label="Why", max_length=200, required=False)


class MeterReadingForm(MeterForm):
    read_at = forms.DateTimeField(
        label="Read at", widget=forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"}),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
    )  # fmt: skip
    replaced_meter = forms.BooleanField(
        label="First reading of a new meter", required=False, help_text="It may then be lower than the last."
    )


class NoteForm(UserForm):
    text = forms.CharField(label="Note", widget=forms.Textarea, max_length=4000)
