"""The flag that asks for an inspection before the next check, and who may take it down."""

from collections.abc import Iterable

from django.db import transaction

from checks.models import Assessment, Check
from checks.services.quantity import read_text
from fleet.models import Membership, Note, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.saving import save_checked


def raise_safety_flag(*, user: User, check: Check, verdicts: Iterable[Assessment]) -> None:
    """Flag the unit when a stroke broke a rule that guards people or the canister."""
    unsafe = [void["sentence"] for row in verdicts for void in row.result["voids"] if void["unsafe"]]
    if not unsafe:
        return
    turbocharger = Turbocharger.objects.select_for_update().get(pk=check.turbocharger_id)
    turbocharger.safety_flag = f"{check.made_at:%Y-%m-%d}: {unsafe[0]}"[:200]
    save_checked(turbocharger, user=user, reason="An unsafe stroke was recorded.")


@transaction.atomic
def clear_safety_flag(*, user: User, turbocharger: Turbocharger, reason: str) -> Turbocharger:
    """Take the flag down once someone has inspected the unit; who and why stay as a note and in its history.

    Raises
    ------
    FleetError
        ``not_allowed`` (403), ``reason_missing``, ``no_safety_flag`` (409).
    """
    require(user, Membership.Role.TECHNICIAN, turbocharger.depot)
    found = read_text(reason, longest=2000)
    if not found:
        raise FleetError("reason_missing", "reason", "Say who inspected the unit and what was found.")
    turbocharger = Turbocharger.objects.select_for_update().get(pk=turbocharger.pk)
    if not turbocharger.safety_flag:
        raise FleetError("no_safety_flag", "", "This unit carries no safety flag.", status=409)
    note = f"Safety flag taken down ({turbocharger.safety_flag}): {found}"
    turbocharger.safety_flag = ""
    save_checked(turbocharger, user=user, reason=found[:100])
    Note.objects.create(turbocharger=turbocharger, author=user, text=note)
    return turbocharger
