"""The form that asks for a review."""

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from fleet.models import Depot, User
from fleet.web.forms import KeyField
from reports.review.month import Month, month_from
from reports.selectors.depots import depots_by_name
from reports.selectors.reviews import months_on_record, sees_all


class AskForm(forms.Form):
    """A month that is over, and a depot or the fleet."""

    month = forms.ChoiceField(label="Month")
    depot = forms.ChoiceField(label="Of")
    key = KeyField()

    def __init__(self, *args: Any, user: User, **options: Any) -> None:
        super().__init__(*args, **options)
        self.depots = {str(row.pk): row for row in depots_by_name(user)}
        whole = [("fleet", "the whole fleet")] if sees_all(user) else []
        months = months_on_record(timezone.localdate())
        self.fields["month"].choices = [(f"{day:%Y-%m}", f"{day:%B %Y}") for day in months]  # type: ignore[attr-defined]
        self.fields["depot"].choices = whole + [(key, row.name) for key, row in self.depots.items()]  # type: ignore[attr-defined]

    def wanted(self) -> tuple[Month, Depot | None]:
        """What was chosen."""
        month = month_from(self.cleaned_data["month"])
        return month or Month(date.min), self.depots.get(self.cleaned_data["depot"])
