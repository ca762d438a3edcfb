"""Complaints with what follows from them: the plan of the truck's units, and the check that answered."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction

from checks.models import Check, ComplaintAnswer
from checks.selectors.complaint import answering_checks, units_on
from checks.services.plan import replan
from fleet.models import Complaint, Truck, User
from fleet.problems import FleetError
from fleet.services.complaint import amend_complaint, close_complaint, raise_complaint


@transaction.atomic
def file_complaint(
    *, user: User, truck: Truck, kind: str, raised_on: date, raised_by: str, text: str = "", key: UUID | None = None
) -> Complaint:
    """Record a complaint and plan the truck's units anew, so that the list of units to see shows it at once."""
    said: dict[str, Any] = {"kind": kind, "raised_on": raised_on, "raised_by": raised_by, "text": text}
    complaint = raise_complaint(user=user, truck=truck, key=key, **said)
    replan(units_on(truck))
    return complaint


@transaction.atomic
def correct_complaint(*, user: User, complaint: Complaint, reason: str, **changes: Any) -> Complaint:
    """Amend a complaint with a reason, and plan anew."""
    amended = amend_complaint(user=user, complaint=complaint, reason=reason, **changes)
    replan(units_on(amended.truck))
    return amended


@transaction.atomic
def settle_complaint(
    *, user: User, complaint: Complaint, finding: str, closed_on: date | None = None, check: int | None = None
) -> Complaint:
    """Close a complaint with its finding and, where one did, the ``check`` that answered it; plan anew.

    Raises FleetError on ``check`` when that is no check of the truck's units since the complaint was raised.
    """
    answer = _answer(complaint, check)
    closed = close_complaint(user=user, complaint=complaint, finding=finding, closed_on=closed_on)
    if answer is not None:
        ComplaintAnswer.objects.create(complaint=closed, check_made=answer, recorded_by=user)
    replan(units_on(closed.truck))
    return closed


def _answer(complaint: Complaint, check: int | None) -> Check | None:
    if check is None:
        return None
    found = answering_checks(complaint).filter(pk=check).first()
    if found is None:
        sentence = "This is no check of the truck's turbochargers since the complaint was raised. Choose one that is."
        raise FleetError("no_such_answer", "check", sentence)
    return found
