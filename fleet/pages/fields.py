"""Fields that several forms of the register share."""

from typing import Any

from django import forms

from fleet.models import Depot, TurbochargerModel, User
from fleet.selectors.scope import depots_of


class DayField(forms.DateField):
    """A day, picked or typed as 2026-03-14."""

    def __init__(self, **options: Any) -> None:
        widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(widget=widget, input_formats=["%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y"], **options)
        self.error_messages["invalid"] = "This is no day of the calendar. Write it as 2026-03-14."


class TodayField(DayField):
    """A day that is today at the depot that the form is about, until another one is picked."""


class ShortNameField(forms.SlugField):
    """What a depot is called in lists, files and addresses."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=12, help_text="For lists and files: letters and digits, such as SALT.", **options)
        self.error_messages["invalid"] = "A short name has letters, digits, '-' and '_' and no gaps. Write SALT or S-1."


class DepotField(forms.ModelChoiceField):
    """One of the depots where a person holds a role."""

    def __init__(self, user: User, *, role: str = "viewer", **options: Any) -> None:
        super().__init__(queryset=depots_of(user, role=role).order_by("name"), **options)
        self.error_messages["invalid_choice"] = "Choose one of your depots."

    def label_from_instance(self, row: Depot) -> str:
        return row.name


class ModelField(forms.ModelChoiceField):
    """One of the turbocharger models."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            queryset=TurbochargerModel.objects.order_by("name"), **{"empty_label": "choose a model"} | options
        )
