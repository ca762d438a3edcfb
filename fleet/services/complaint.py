"""Complaints about trucks."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from fleet.models import Complaint, Membership, Truck, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was
from fleet.services.saving import Faults, assign, save_checked


@transaction.atomic
def raise_complaint(
    *, user: User, truck: Truck, kind: str, raised_on: date, raised_by: str, text: str = "", key: UUID | None = None
) -> Complaint:
    """Record what a driver or customer says of a truck; the same `key` again gives the same complaint."""
    require(user, Membership.Role.TECHNICIAN, truck.depot)
    said = {"kind": kind, "raised_on": raised_on, "raised_by": raised_by.strip(), "text": text.strip()}
    twice = _kept_under(key, truck) or Complaint.objects.filter(truck=truck, closed_on=None, **said).first()
    if twice:  # the form was sent twice
        return twice
    day_that_was(raised_on, "raised_on")
    complaint = Complaint(truck=truck, recorded_by=user, key=key, **said)
    save_checked(complaint, user=user)
    return complaint


@transaction.atomic
def amend_complaint(*, user: User, complaint: Complaint, reason: str, **changes: Any) -> Complaint:
    """Correct a complaint and say why: technicians while it is open, managers afterwards as well.

    ``changes``: kind, raised_on, raised_by, text; once closed also finding and closed_on. What was stays on record.
    """
    role = Membership.Role.MANAGER if complaint.closed_on else Membership.Role.TECHNICIAN
    require(user, role, complaint.truck.depot)
    faults = Faults()
    for name in ("raised_on", "closed_on"):
        with faults.gathering():
            day_that_was(changes.get(name), name)
    if not reason.strip():
        faults.append(FleetError("amendment_has_reason", "reason", "Say why the complaint is amended."))
    wanted = {name: value.strip() if isinstance(value, str) else value for name, value in changes.items()}
    if not assign(complaint, wanted) and not faults:
        raise FleetError("nothing_changed", "", "Nothing differs from what is on record. Change a value, or leave it.")
    save_checked(complaint, user=user, reason=reason.strip()[:100], faults=faults)
    return complaint


@transaction.atomic
def close_complaint(*, user: User, complaint: Complaint, finding: str, closed_on: date | None = None) -> Complaint:
    """Close a complaint with what was found; without a day, today. Managers close."""
    require(user, Membership.Role.MANAGER, complaint.truck.depot)
    held = Complaint.objects.select_for_update().get(pk=complaint.pk)  # somebody may have been quicker
    if held.closed_on:
        day = f"{held.closed_on:%-d %b %Y}"
        raise FleetError("complaint_closed", "", f"This complaint was closed on {day} already.", status=409)
    day_closed = closed_on or timezone.localdate()
    day_that_was(day_closed, "closed_on")
    complaint.finding, complaint.closed_on = finding.strip(), day_closed
    save_checked(complaint, user=user)
    return complaint


def _kept_under(key: UUID | None, truck: Truck) -> Complaint | None:
    kept = Complaint.objects.filter(key=key).first() if key else None
    if kept is not None and kept.truck_id != truck.pk:
        sentence = "This key was used for a complaint about another truck. Make a new key for a new complaint."
        raise FleetError("key_used", "key", sentence, status=409)
    return kept
