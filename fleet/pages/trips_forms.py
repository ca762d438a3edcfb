"""The forms of trips: which are listed, which file comes in, what the whole of it has in common."""

from typing import Any
from zoneinfo import available_timezones

from django import forms

from fleet.imports.trips.manner import DECIMALS, DELIMITERS, TIME_FORMS, WRITTEN
from fleet.models import User
from fleet.pages.fields import DayField, DepotField
from fleet.pages.forms import UserForm
from fleet.selectors.scope import depots_of
from fleet.selectors.trips import sources

MOST_BYTES = 2 * 2**30
# Names in the time zone database that are no clock of any place: the server's own, and one that says nothing.
NO_PLACES = ("localtime", "Factory")
SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx", ".parquet")


class TripFilters(forms.Form):
    """Narrows the list of trips."""

    truck = forms.CharField(required=False, max_length=24, widget=forms.TextInput(attrs={"type": "search"}))
    since = DayField(required=False, label="From")
    until = DayField(required=False, label="To")

    def __init__(self, user: User, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.fields["depot"] = DepotField(user, required=False, empty_label="all depots")
        self.order_fields(["truck", "depot"])


class BringForm(UserForm):
    """A file of trips and where it comes from."""

    source = forms.CharField(
        max_length=60, label="Where the file comes from",
        help_text="A name of your own, such as 'Yard export'. How its files read is remembered under it.",
    )  # fmt: skip
    file = forms.FileField(
        allow_empty_file=True, label="File of trips", help_text="CSV with any separator, XLSX or Parquet, up to 2 GB.",
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(SUFFIXES)}),
    )  # fmt: skip

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        self.fields["source"].widget.attrs |= {"list": "suggestions", "autocomplete": "off"}
        self.known = list(sources().values_list("name", flat=True))

    def clean_file(self) -> Any:
        """Refuse by name and size before anything is read; what is inside is judged by its first bytes."""
        upload = self.cleaned_data["file"]
        if not upload.name.lower().endswith(SUFFIXES):
            raise forms.ValidationError(
                "This is no table of trips by its name. Send a file that ends in .csv, .xlsx or .parquet.", code="type"
            )
        if upload.size > MOST_BYTES:
            raise forms.ValidationError("The file is larger than 2 GB. Split it, each part with the heading.", "size")
        return upload


class SignsForm(UserForm):
    """What a whole file has in common: separator, decimal sign, how times are written and where."""

    delimiter = forms.ChoiceField(label="Between cells", choices=DELIMITERS)
    decimal = forms.ChoiceField(label="Decimal sign", choices=DECIMALS)
    time_form = forms.ChoiceField(label="Times look like", choices=TIME_FORMS)
    zone = forms.ChoiceField(label="Clock of the times")

    def __init__(self, user: User, *arguments: Any, **options: Any) -> None:
        super().__init__(user, *arguments, **options)
        depots = sorted(set(depots_of(user).values_list("time_zone", flat=True)) - {"UTC"})
        others = sorted(available_timezones() - {"UTC", *NO_PLACES, *depots})
        self.fields["zone"] = forms.ChoiceField(
            label="Clock of the times",
            choices=[
                (WRITTEN, "each time carries its offset"),
                ("UTC", "UTC"),
                *((zone, f"{zone}, a depot's") for zone in depots),
                ("All others", [(zone, zone) for zone in others]),
            ],
        )
