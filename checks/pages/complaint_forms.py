"""What the pages of complaints ask. They read; the services judge."""

from typing import Any

from django import forms

from checks.models import Check
from checks.selectors.complaint import OFFERED, answering_checks
from fleet.models import Complaint, User
from fleet.pages.fields import DayField, TodayField
from fleet.pages.forms import UserForm
from fleet.web.forms import KeyField


class SaidForm(UserForm):
    """What was said, by whom and when."""

    raised_on = TodayField(label="Raised on")
    raised_by = forms.CharField(label="Who says so", max_length=80)
    text = forms.CharField(
        label="In their words", required=False, widget=forms.Textarea(attrs={"rows": 3}), max_length=4000
    )


class FileForm(SaidForm):
    """A new complaint: the button that sends it names what is wrong."""

    kind = forms.ChoiceField(
        choices=Complaint.Kind.choices,
        widget=forms.HiddenInput,
        error_messages={"required": "Say what is wrong: press one of the buttons."},
    )
    key = KeyField()

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.initial.setdefault("raised_by", user.display_name[:80])


class AmendForm(SaidForm):
    """Everything on record, to correct, and why."""

    kind = forms.ChoiceField(label="What is wrong", choices=Complaint.Kind.choices)
    finding = forms.CharField(label="What was found", widget=forms.Textarea(attrs={"rows": 3}), max_length=4000)
    closed_on = DayField(label="Closed on")
    reason = forms.CharField(label="Why it is amended", max_length=100, help_text="Goes into the record of changes.")

    def __init__(self, user: User, *arguments: Any, complaint: Complaint, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        if complaint.closed_on is None:
            del self.fields["finding"], self.fields["closed_on"]
        self.order_fields(["kind", "raised_on", "raised_by", "text", "finding", "closed_on", "reason"])


class CloseForm(UserForm):
    """The finding, and the check that told it."""

    finding = forms.CharField(label="What was found", widget=forms.Textarea(attrs={"rows": 4}), max_length=4000)
    check = forms.TypedChoiceField(
        label="Check that answered it", required=False, coerce=int, empty_value=None,
        help_text="Checks of the truck's turbochargers since the complaint was raised.",
    )  # fmt: skip
    closed_on = TodayField(label="Closed on")

    def __init__(self, user: User, *arguments: Any, complaint: Complaint, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        offered = list(answering_checks(complaint).select_related("turbocharger", "fitment")[:OFFERED])
        named = next((row.pk for row in offered if row.complaint_id == complaint.pk), None)
        self.fields["check"].choices = [("", "no check"), *((row.pk, _words(row)) for row in offered)]  # type: ignore[attr-defined]
        self.initial.setdefault("check", named or (offered[0].pk if offered else None))


def _words(row: Check) -> str:
    place = f", {row.fitment.position}" if row.fitment and row.fitment.position != "single" else ""
    return f"{row.made_at:%-d %b %Y}, {row.turbocharger.serial}{place}"
