"""The forms of studies."""

from typing import Any

from django import forms

from checks.models import Instrument, SpecificationRevision
from checks.models.instrument_parts import POSITION, PRESSURE
from checks.pages.fields import EntryForm, choice_field, day_field, quantity_field, text_field, whole_field
from checks.services.entry import LENGTH
from fleet.models import User
from fleet.web.forms import KeyField

Kind = Instrument.Kind


class PlanForm(EntryForm):
    """Everything that a plan names, from the rows of one depot."""

    groups = (
        ("What is studied", ("name", "specification", "planned_for", "note")),
        ("Parts", ("turbochargers", "bench_units")),
        ("Who reads, how often", ("technicians", "trials")),
        ("With what", ("dial", "stimulus_instrument", "meter", "length_unit")),
    )
    key = KeyField()
    name = text_field("Name", hint="Such as: Spring study, bench units.")
    planned_for = day_field("Day")
    note = text_field("Note", required=False, long=True)
    turbochargers = text_field(
        "Turbochargers", required=False, long=True, hint="Serial numbers of units of this depot, one a line."
    )
    bench_units = text_field(
        "Bench units",
        required=False,
        long=True,
        hint="One a line, by the name written on each. Depots compare where they read the same named bench units.",
    )
    trials = whole_field("Trials", hint="How often each technician reads each part: 2 or 3.")
    length_unit = choice_field("Travel is read in", {unit: unit for unit in LENGTH})

    def __init__(
        self,
        data: Any = None,
        *,
        specifications: list[SpecificationRevision],
        technicians: list[User],
        instruments: list[Instrument],
        **options: Any,
    ) -> None:
        super().__init__(data, **options)
        self.fields["specification"] = choice_field(
            "Specification", {"": "choose", **{str(row.pk): str(row) for row in specifications}}
        )
        people = [(str(row.pk), row.display_name) for row in technicians]
        self.fields["technicians"] = forms.CharField(
            label="Technicians", widget=forms.CheckboxSelectMultiple(choices=people), help_text="2 or 3 at least."
        )
        told = [*PRESSURE, *POSITION]
        for name, label, kinds, required in (
            ("dial", "Dial indicator", [Kind.DIAL], True),
            ("stimulus_instrument", "Pressure instrument or command tool", told, True),
            ("meter", "Multimeter", [Kind.MULTIMETER], False),
        ):
            rows = {str(row.pk): f"{row.label}, {row.get_kind_display()}" for row in instruments if row.kind in kinds}
            hint = "" if required else "Only where a transducer is read."
            self.fields[name] = choice_field(label, {"": "choose", **rows}, required=required, hint=hint)


class ReadForm(EntryForm):
    """One travel."""

    groups = (("", ("travel",)),)

    def __init__(self, data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields["travel"] = quantity_field("Travel at the setting", LENGTH)
        self.fields["travel"].widget.widgets[0].attrs["autofocus"] = True


class AmendReadingForm(EntryForm):
    """A reading as it should stand, and why."""

    groups = (("", ("travel", "reason")),)
    travel = quantity_field(
        "Travel at the setting", LENGTH, required=False, hint="Empty: the reading was not made and is to be read."
    )
    reason = text_field("Why it is amended", long=True)


class ReasonForm(EntryForm):
    """Why."""

    groups = (("", ("reason",)),)
    reason = text_field("Why?", long=True)


class PublishForm(ReasonForm):
    """Why, once."""

    key = KeyField()
