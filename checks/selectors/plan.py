"""Fitted units as the re-check rules see them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from checks.models import Amendment, Assessment, Check, Forecast, Policy, Standing
from checks.models.forecast import Basis
from checks.rules.recheck.open_complaint import ASKING
from checks.rules.recheck.unit import Limits, Outlook, Recalled, Seen, Unit, Use, reached_at
from checks.selectors.amended import typed_value
from checks.selectors.days import day_at
from checks.selectors.policy import current_policy
from checks.selectors.rates import Rates
from checks.selectors.recalled import units_to_see
from fleet.models import Complaint, Fitment, Installation, Turbocharger


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Where one turbocharger stands, and the unit to plan for; ``unit`` is None where it runs on no engine.

    ``p_outside_now``: chance of being outside, None without a forecast. ``leaving``: likely to go outside within the
    policy's horizon while it counts as inside, or was never checked; ``leaves_on``: about when.
    """

    turbocharger_id: int
    state: str
    last_check_id: int | None
    shown_id: int | None
    unit: Unit | None
    p_outside_now: float | None = None
    leaving: bool = False
    leaves_on: date | None = None


@dataclass(frozen=True, slots=True)
class _Last:
    check_id: int
    fitment_id: int | None
    shown_id: int | None
    seen: Seen


def limits_of(policy: Policy) -> Limits:
    """The policy as the rules read it."""
    return Limits(**{name: getattr(policy, name) for name in Limits.__dataclass_fields__})


def units_to_plan(turbocharger_ids: Sequence[int]) -> list[Planned]:
    """Turbochargers as the rules see them, in the order of their primary keys; a dozen queries for any number."""
    policy = current_policy()
    last_of = _last_checks(turbocharger_ids)
    fitments = {
        row.turbocharger_id: row
        for row in Fitment.objects.filter(turbocharger__in=turbocharger_ids, removed_on__isnull=True)
    }
    trucks = dict(
        Installation.objects.filter(
            engine__in={row.engine_id for row in fitments.values()}, removed_on__isnull=True
        ).values_list("engine", "truck")
    )
    rates = Rates.of(set(trucks.values()), policy)
    complaints = _complaints(set(trucks.values()))
    forecasts, recalled = _forecasts(turbocharger_ids), units_to_see(turbocharger_ids)
    known = Turbocharger.objects.filter(pk__in=turbocharger_ids).order_by("pk").values_list("pk", "scrapped_on")
    planned = []
    for pk, scrapped_on in known:
        last, fitment = last_of.get(pk), fitments.get(pk) if scrapped_on is None else None
        truck = trucks.get(fitment.engine_id, 0) if fitment else 0
        state = last.seen.state if last else str(Standing.State.NEVER)
        said = forecasts.get(pk)
        if said and (fitment is None or not _holds(said, last, fitment)):
            said = None
        planned.append(
            Planned(
                turbocharger_id=pk,
                state=state,
                last_check_id=last.check_id if last else None,
                shown_id=last.shown_id if last else None,
                unit=_unit(fitment, last, rates, truck, complaints.get(truck), said, recalled.get(pk))
                if fitment
                else None,
                p_outside_now=round(said.p_outside_now, 6) if said else None,
                **(_leaving(said, state, rates.drift(truck), policy) if said else {}),
            )
        )
    return planned


def _last_checks(turbocharger_ids: Sequence[int]) -> dict[int, _Last]:
    newest = Check.objects.filter(turbocharger=OuterRef("pk")).order_by("-made_at", "-pk").values("pk")[:1]
    pks = (
        Turbocharger.objects.filter(pk__in=turbocharger_ids)
        .annotate(newest=Subquery(newest))
        .filter(newest__isnull=False)
        .values_list("newest", flat=True)
    )
    checks = list(Check.objects.filter(pk__in=list(pks)).select_related("depot"))
    verdicts: dict[int, dict[str, Assessment]] = {}
    for row in (
        Assessment.objects.filter(stroke__check_made__in=checks, is_current=True)
        .select_related("stroke")
        .only("pk", "state", "stroke__moment", "stroke__check_made")
    ):
        verdicts.setdefault(row.stroke.check_made_id, {})[row.stroke.moment] = row
    odometers = _amended_odometers(checks)
    return {
        check.turbocharger_id: _last(check, verdicts.get(check.pk, {}), odometers.get(check.pk, check.odometer_km))
        for check in checks
    }


def _last(check: Check, verdicts: dict[str, Assessment], odometer_km: float | None) -> _Last:
    shown = verdicts.get("as_left") or verdicts.get("as_found")
    return _Last(
        check_id=check.pk,
        fitment_id=check.fitment_id,
        shown_id=shown.pk if shown else None,
        seen=Seen(
            on=day_at(check.depot, check.made_at),
            state=shown.state if shown else Assessment.State.VOID,
            adjusted="as_left" in verdicts,
            odometer_km=odometer_km,
        ),
    )


def _amended_odometers(checks: Iterable[Check]) -> dict[int, float | None]:
    rows = Amendment.objects.filter(check_made__in=list(checks), field="odometer").order_by("made_at", "pk")
    return {
        check: typed_value(value)[0] if value else None for check, value in rows.values_list("check_made", "new_value")
    }


def _forecasts(turbocharger_ids: Sequence[int]) -> dict[int, Forecast]:
    rows = Forecast.objects.filter(turbocharger__in=turbocharger_ids).select_related("fit")
    return {row.turbocharger_id: row for row in rows.defer("innovations", "fit__estimates", "fit__diagnostics")}


def _holds(said: Forecast, last: _Last | None, fitment: Fitment) -> bool:
    """Whether a forecast was made after the last check and the last fitting; until the refit it says nothing."""
    return said.last_check_id == (last.check_id if last else None) and said.epoch_began_on >= fitment.fitted_on


def _leaving(said: Forecast, state: str, use: Use, policy: Policy) -> dict[str, Any]:
    if state not in {Standing.State.INSIDE, Standing.State.NEVER} or said.p_outside_at_horizon < policy.leaving_level:
        return {}
    usage = reached_at([(row[0], row[-1]) for row in said.path], policy.leaving_level)
    if usage is None:
        return {"leaving": True}
    left = max(0.0, usage - said.usage_now)
    return {"leaving": True, "leaves_on": _outlook(said, use).day_after(left, use.km_per_day)}


def _outlook(said: Forecast, use: Use) -> Outlook:
    return Outlook(
        as_of=timezone.localtime(said.derived_at).date(),
        level=said.level,
        left=None if said.due_usage is None else said.due_usage - said.usage_now,
        use=use,
        unit="km" if said.fit.basis == Basis.KM else "h",
        # The path begins at the last look.
        from_start=said.due_usage is not None and said.due_usage <= said.path[0][0] + 0.1,
    )


def _unit(
    fitment: Fitment,
    last: _Last | None,
    rates: Rates,
    truck: int,
    complaint: tuple[date, str] | None,
    said: Forecast | None,
    recalled: Recalled | None,
) -> Unit:
    raised_on, kind = complaint or (None, "")
    return Unit(
        fitted_on=fitment.fitted_on,
        fitted_odometer_km=fitment.fitted_odometer_km,
        # A check on an earlier engine says nothing of how this fitting has held.
        seen=last.seen if last and last.fitment_id == fitment.pk else None,
        use=rates.road(truck),
        complaint_raised_on=raised_on,
        complaint_kind=kind,
        outlook=_outlook(said, rates.drift(truck)) if said else None,
        recalled=recalled,
    )


def _complaints(trucks: set[int]) -> dict[int, tuple[date, str]]:
    """The oldest open complaint of each truck that asks for a check."""
    rows = Complaint.objects.filter(truck__in=trucks, closed_on__isnull=True, kind__in=ASKING)
    rows = rows.order_by("-raised_on", "-pk")
    return {row.truck_id: (row.raised_on, str(row.get_kind_display())) for row in rows}
