"""Writing instruments: add, edit by the fields of their kind, withdraw, bring back."""

from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from checks.models import Certificate, Instrument
from checks.services.entry import Entry, Reader, keep
from checks.services.scales import READERS
from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors import scope

PLACES = {
    "instrument_label_given": "label",
    "instrument_scale_given": "range_high",
    "instrument_division_given": "division",
    "read_to_plausible": "read_to",
    "transducer_has_sensitivity": "sensitivity",
    "multimeter_has_unit": "electrical_unit",
}


@transaction.atomic
def add_instrument(*, author: User, kind: str, entry: Entry) -> Instrument:
    """Add an instrument of `kind`; `entry` holds its depot's key, texts and [text, unit] pairs by field name."""
    if kind not in Instrument.Kind.values:
        raise FleetError("kind_unknown", "kind", f"There is no kind '{kind[:20]}'. Choose {', '.join(READERS)}.")
    row = Instrument(kind=kind)
    _fill(row, author, entry)
    keep(row, author=author, places=PLACES)
    return row


@transaction.atomic
def edit_instrument(*, author: User, instrument: Instrument, entry: Entry) -> Instrument:
    """Change an instrument. Its kind stays; so does its electrical unit once it has certificates."""
    scope.require(author, Membership.Role.MANAGER, instrument.depot)
    row = Instrument.objects.select_for_update().get(pk=instrument.pk)
    unit_before = row.electrical_unit
    _fill(row, author, entry)
    if row.electrical_unit != unit_before and Certificate.objects.filter(instrument=row).exists():
        raise FleetError(
            "electrical_unit_fixed",
            "electrical_unit" if row.kind == Instrument.Kind.MULTIMETER else "sensitivity",
            f"Certificates of {row} are kept in {unit_before}. Add the instrument again under another label instead.",
        )
    keep(row, author=author, places=PLACES)
    return row


@transaction.atomic
def withdraw_instrument(*, author: User, instrument: Instrument, entry: Entry) -> Instrument:
    """Take an instrument out of use from a day on (``withdrawn_on``), with a ``reason``; what it did stays."""
    scope.require(author, Membership.Role.MANAGER, instrument.depot)
    row = Instrument.objects.select_for_update().get(pk=instrument.pk)
    reader = Reader(entry)
    row.withdrawn_on = reader.day("withdrawn_on", "The day of withdrawal", latest=timezone.localdate())
    reason = reader.text("reason", "The reason", longest=100, required=True)
    reader.refuse_faults()
    keep(row, author=author, places=PLACES, reason=reason)
    return row


@transaction.atomic
def bring_back_instrument(*, author: User, instrument: Instrument, entry: Entry) -> Instrument:
    """Put a withdrawn instrument back into use, with a ``reason``."""
    scope.require(author, Membership.Role.MANAGER, instrument.depot)
    row = Instrument.objects.select_for_update().get(pk=instrument.pk)
    reader = Reader(entry)
    reason = reader.text("reason", "The reason", longest=100, required=True)
    reader.refuse_faults()
    row.withdrawn_on = None
    keep(row, author=author, places=PLACES, reason=reason)
    return row


def latest_due_day() -> date:
    """No certificate holds longer than ten years."""
    today = timezone.localdate()
    return date(today.year + 10, 12, 31)


def _fill(row: Instrument, author: User, entry: Entry) -> None:
    reader = Reader(entry)
    depot = _depot(reader, author)
    label = reader.text("label", "The label", longest=40, required=True)
    if label and Instrument.objects.filter(label__iexact=label).exclude(pk=row.pk).exists():
        reader.fault("label", "label_taken", f"Another instrument already bears the label {label}. Labels are unique.")
    values: dict[str, Any] = {
        "label": label,
        "description": reader.text("description", "The description", longest=120),
        **READERS[row.kind](reader),
    }
    _refuse_a_division_wider_than_the_range(reader, values)
    reader.refuse_faults()
    for name, value in values.items():
        setattr(row, name, value)
    row.depot = depot  # type: ignore[assignment]  # a missing depot was refused above
    row.typed = reader.typed


def _refuse_a_division_wider_than_the_range(reader: Reader, values: dict[str, Any]) -> None:
    low, high, division = (values.get(name) for name in ("range_low", "range_high", "division"))
    if low is not None and high is not None and division is not None and division > (high - low) / 2 > 0:
        sentence = (
            f"The division of {' '.join(reader.typed['division'])} is more than half the range. Check both units."
        )
        reader.fault("division", "division_wider_than_range", sentence)


def _depot(reader: Reader, author: User) -> Depot | None:
    given = str(reader.entry.get("depot") or "")
    depots = scope.depots_of(author, role=Membership.Role.MANAGER)
    depot = depots.filter(pk=int(given)).first() if given.isascii() and given.isdigit() and len(given) < 19 else None
    if depot is None:
        reader.fault("depot", "depot_unknown", "Choose one of the depots that you manage.")
    return depot
