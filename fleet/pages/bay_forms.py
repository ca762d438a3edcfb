"""The forms of the work in the bay: what was installed, fitted, removed or swapped, and what the meters showed."""

from typing import Any

from django import forms

from fleet.models import Fitment, User
from fleet.pages.fields import TodayField
from fleet.pages.forms import UserForm
from fleet.services.meter import DISTANCE_UNITS
from fleet.web.quantities import QuantityField

POSITIONS = [("single", "single"), ("front", "front (of two)"), ("rear", "rear (of two)")]


class InstallForm(UserForm):
    truck = forms.CharField(label="Truck, by unit number", max_length=24)
    installed_on = TodayField(label="Installed on")


class UninstallForm(UserForm):
    removed_on = TodayField(label="Removed on")


class MeterForm(UserForm):
    """What a truck's meters show, in the person's own unit of distance."""

    odometer = QuantityField(units=DISTANCE_UNITS, required=False)
    engine_hours = QuantityField(units=("h",), required=False)

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.initial.setdefault("odometer", user.distance_unit)
        self.order_fields([*(name for name in self.fields if name not in ("odometer", "engine_hours")), "odometer"])


class FitForm(MeterForm):
    engine = forms.CharField(label="Engine serial, or unit number of its truck", max_length=40)
    position = forms.ChoiceField(choices=POSITIONS, initial=Fitment.Position.SINGLE)
    fitted_on = TodayField(label="Fitted on")


class RemoveForm(MeterForm):
    removed_on = TodayField(label="Removed on")
    reason = forms.CharField(label="Why it came off", max_length=200, required=False)


class SwapForm(MeterForm):
    on = forms.CharField(
        label="Serial number of the one that goes on", max_length=40,
        help_text="From stock, or its twin on the same engine: then the two change places.",
    )  # fmt: skip
    swapped_on = TodayField(label="Swapped on")
    reason = forms.CharField(label="Why", max_length=200, required=False)


class MeterReadingForm(MeterForm):
    read_at = forms.DateTimeField(
        label="Read at", widget=forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"}),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
    )  # fmt: skip
    replaced_meter = forms.BooleanField(
        label="First reading of a new meter", required=False, help_text="It may then be lower than the last."
    )
