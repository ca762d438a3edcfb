"""The form of a specification, in the units of its actuator."""

from typing import Any

from checks.pages.fields import (
    EntryForm,
    choice_field,
    day_field,
    quantity_field,
    reason_field,
    text_field,
    whole_field,
)
from checks.services.entry import LENGTH
from checks.services.specification_fields import OF_SETTING, SIGNS, THREADS, THREADS_PER_INCH, stimulus_units
from fleet.models import TurbochargerModel


class SpecificationForm(EntryForm):
    """All fields of a revision; ``thread`` offers common threads in place of a typed pitch."""

    groups = (
        ("Document", ("revision", "source_document", "source_revision", "effective_from", "note")),
        ("Setting", ("setting", "stimulus_max", "capture_tolerance")),
        ("Window at the setting", ("lower_mm", "nominal_mm", "upper_mm")),
        ("Zero and exercise", ("zero_tolerance_stimulus", "zero_tolerance_mm", "exercise_cycles")),
        ("Adjustment", ("thread", "thread_pitch_mm", "adjustment_sign", "adjustment_range_half_turns")),
    )

    def __init__(self, data: Any = None, *, turbocharger_model: TurbochargerModel, **options: Any) -> None:
        super().__init__(data, **options)
        known = stimulus_units(turbocharger_model)
        what = "pressure" if known[0] == "kPa" else "command"
        self.fields |= _document_fields() | _stimulus_fields(known, what) | _travel_fields() | _adjustment_fields()


def _document_fields() -> dict[str, Any]:
    return {
        "revision": text_field("Name of this revision", hint="Unique for the model, such as A or 2026-1."),
        "source_document": text_field("Source document", hint="Where the values come from."),
        "source_revision": text_field("Revision of the document", required=False),
        "effective_from": day_field("In force from", hint="Checks made from this day on are judged by it."),
        "note": text_field("Note", required=False, long=True),
    }


def _stimulus_fields(known: tuple[str, ...], what: str) -> dict[str, Any]:
    return {
        "setting": quantity_field(f"Setting {what}", known, hint="The travel is judged here."),
        "stimulus_max": quantity_field(
            "Canister maximum" if what == "pressure" else "Highest command", known, hint="Never to be exceeded."
        ),
        "capture_tolerance": quantity_field(
            "Capture tolerance", (*known, OF_SETTING), hint="How near to the setting a reading must be taken, ±."
        ),
        "zero_tolerance_stimulus": quantity_field(
            f"Zero tolerance, {what}", known, hint="Vented, ±." if what == "pressure" else "At rest, ±."
        ),
        "exercise_cycles": whole_field("Exercise cycles before the rise", hint="From 0 to 10."),
    }


def _travel_fields() -> dict[str, Any]:
    return {
        "lower_mm": quantity_field("Lower limit", LENGTH, hint="Below it: outside low."),
        "nominal_mm": quantity_field("Nominal", LENGTH, hint="What an adjustment aims at."),
        "upper_mm": quantity_field("Upper limit", LENGTH, hint="Above it: outside high."),
        "zero_tolerance_mm": quantity_field("Zero tolerance, travel", LENGTH, hint="At rest after exercise, ±."),
    }


def _adjustment_fields() -> dict[str, Any]:
    threads = [("", "none of these: type the pitch")] + [
        (name, f"{name} ({text} {unit})") for name, (text, unit) in THREADS.items()
    ]
    return {
        "thread": choice_field("Common threads (ISO 261, ASME B1.1)", threads, required=False),
        "thread_pitch_mm": quantity_field(
            "Thread pitch of the rod",
            ("mm", "in", THREADS_PER_INCH),
            hint="Empty if unknown: then no half turns are advised.",
            required=False,
        ),
        "adjustment_sign": choice_field("What a longer rod does", SIGNS),
        "adjustment_range_half_turns": whole_field("Adjustment range, half turns", hint="The most in one adjustment."),
    }


class EndForm(EntryForm):
    """The last day of a revision, and why."""

    groups = (("", ("effective_to", "reason")),)
    effective_to = day_field("Last day in force")
    reason = reason_field()
