"""Where every unit stands and when to look at it again: derived rows, made anew at will with the same numbers."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import transaction
from django.utils import timezone

from checks.models import Standing
from checks.rules.recheck.decide import Decision, decide
from checks.rules.recheck.unit import Due
from checks.selectors.plan import Planned, limits_of, units_to_plan
from checks.selectors.policy import current_policy
from checks.selectors.stale import stale_plans
from fleet.models import Turbocharger

BATCH = 500
DERIVED = [
    "state",
    "last_check",
    "shown",
    "due_on",
    "due_odometer_km",
    "leaving",
    "leaves_on",
    "p_outside_now",
    "binding_rule",
    "sentence",
    "rules",
    "derived_at",
]
NOT_FITTED = Decision((), "Not fitted to an engine, so nothing is due.")


def replan(turbocharger_ids: Iterable[int]) -> int:
    """Derive standing and plan of turbochargers anew; about a dozen queries per 500. Returns how many."""
    ids = sorted(set(turbocharger_ids))
    return sum(replan_batch(ids[start : start + BATCH]) for start in range(0, len(ids), BATCH))


@transaction.atomic
def replan_batch(turbocharger_ids: Sequence[int]) -> int:
    """Derive one batch, in one transaction."""
    began, limits = timezone.now(), limits_of(current_policy())
    rows = [
        _standing(planned, decide(planned.unit, limits) if planned.unit else NOT_FITTED)
        for planned in units_to_plan(turbocharger_ids)
    ]
    Standing.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["turbocharger"], update_fields=DERIVED, batch_size=BATCH
    )
    # As old as what was read, not as what was written: a change in between makes the plan stale.
    Standing.objects.filter(turbocharger__in=turbocharger_ids).update(derived_at=began)
    return len(rows)


def replan_stale() -> int:
    """Derive again whatever the register has overtaken since; returns how many."""
    return replan(stale_plans().values_list("pk", flat=True))


def all_turbochargers() -> list[int]:
    """Primary keys of every turbocharger."""
    return list(Turbocharger.objects.order_by("pk").values_list("pk", flat=True))


def _standing(planned: Planned, decision: Decision) -> Standing:
    return Standing(
        turbocharger_id=planned.turbocharger_id,
        state=planned.state,
        last_check_id=planned.last_check_id,
        shown_id=planned.shown_id,
        due_on=decision.due_on,
        due_odometer_km=decision.due_odometer_km,
        leaving=planned.leaving,
        leaves_on=planned.leaves_on,
        p_outside_now=planned.p_outside_now,
        binding_rule=decision.binding.rule if decision.binding else "",
        sentence=decision.sentence,
        rules=[_kept(due) for due in decision.fired],
    )


def _kept(due: Due) -> dict[str, Any]:
    return {
        "rule": due.rule,
        "on": due.on.isoformat(),
        "by_date": due.by_date.isoformat() if due.by_date else None,
        "by_usage": due.by_usage.isoformat() if due.by_usage else None,
        "odometer_km": due.odometer_km,
        "sentence": due.sentence,
        "inputs": due.inputs,
    }
