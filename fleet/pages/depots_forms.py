"""The forms of depots and of the people who belong to them."""

import calendar

from django import forms

from fleet.models import Membership
from fleet.pages.fields import ShortNameField
from fleet.pages.forms import OfDepotForm, UserForm


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


class PersonForm(OfDepotForm):
    field_order = ("depot", "username", "role")
    username = forms.CharField(max_length=150, help_text="Someone who signs in already needs only this and a role.")
    role = forms.ChoiceField(choices=Membership.Role.choices)
    first_name = forms.CharField(max_length=150, required=False)
    last_name = forms.CharField(max_length=150, required=False)
    password = forms.CharField(
        required=False, max_length=128, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        label="First password", help_text="At least 12 characters; only for somebody new.",
    )  # fmt: skip


class RoleForm(UserForm):
    role = forms.ChoiceField(choices=Membership.Role.choices)
