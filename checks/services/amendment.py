"""Correcting a signed check: what was, what is, who says so and why stay; the verdict follows the correction."""

from typing import Any

from django.db import transaction

from checks.models import Amendment, Check
from checks.selectors.assessment import checks_to_judge
from checks.services.amendment_fields import Ask, values_of
from checks.services.assessment import judge_checks
from checks.services.drift_request import request_refit
from checks.services.faults import Faults
from checks.services.meter import correct_meters
from checks.services.plan import replan
from checks.services.quantity import read_text
from checks.services.safety import raise_safety_flag
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import holds, visible_to


def may_amend(user: User, check: Check) -> bool:
    """Whether ``user`` signed the check, or manages its depot."""
    if holds(user, Membership.Role.MANAGER, check.depot):
        return True
    return check.technician_id == user.pk and holds(user, Membership.Role.TECHNICIAN, check.depot)


@transaction.atomic
def amend_check(*, user: User, check: Check, field: str, new_value: Any, reason: str) -> Amendment:
    """Correct one value of a signed check, judge it anew and plan again. The signed row stays as it was signed.

    Parameters
    ----------
    field : 'odometer', 'note', 'dial' and so on, or a reading's part such as 'as_found.7.travel'
    new_value : in the form of a submission: {"text", "unit"} for a quantity, a primary key for an instrument

    Raises
    ------
    FleetErrors
        With the field of each wrong value: ``new_value``, ``reason``.
    FleetError
        ``not_allowed`` (403), ``no_such_check`` (404), ``no_such_field`` (404), ``nothing_changed`` (409).
    """
    visible = visible_to(user, Check.objects.all()).select_for_update(of=("self",)).filter(pk=check.pk)
    if not visible.exists():
        raise FleetError("no_such_check", "", "None of your depots has this check.", status=404)
    found = checks_to_judge([check.pk])[0]
    if not may_amend(user, found):
        raise FleetError(
            "not_allowed",
            "",
            "Who signed a check may amend it, or a manager of its depot. Ask one of them.",
            status=403,
        )
    reason = read_text(reason, longest=2000)
    old, new = values_of(Ask(user, found, field, new_value, Faults()), reason)
    if old == new:
        raise FleetError(
            "nothing_changed", "new_value", f"The record already says '{old}'. Enter the right value.", 409
        )
    amendment = Amendment.objects.create(
        check_made=check, field=field, old_value=old, new_value=new, reason=reason, author=user
    )
    if field in {"odometer", "engine_hours"}:
        correct_meters(user=user, check=found, field=field, kept=new, reason=reason)
    verdicts = judge_checks(check_ids=[check.pk], basis="amended")[check.pk]
    raise_safety_flag(user=user, check=check, verdicts=verdicts)
    replan([check.turbocharger_id])
    request_refit([found.turbocharger.model_id])
    return amendment
