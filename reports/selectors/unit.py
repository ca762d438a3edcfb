"""One turbocharger: where it was, what was read, what was said of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import Http404
from django.utils import timezone

from checks.components import Window, WindowStrip
from checks.convert import result_from_json
from checks.display import distance_text, plan_text
from checks.models import Assessment, SpecificationRevision, Standing
from checks.selectors.days import day_at
from checks.selectors.specification import revision_in_force, stimulus_unit
from fleet.models import Complaint, MeterReading, Note, Turbocharger, User
from fleet.selectors.scope import holds, visible_to
from reports.charts.stroke import stroke_figure
from reports.selectors.curves import curve_of
from reports.selectors.fitments import FitmentRow, fitment_rows
from reports.selectors.history import CheckRow, check_rows
from reports.selectors.judged import strip_of
from reports.selectors.outlook import Outlook, forecast_of, outlook_of
from reports.selectors.specification import SpecificationFacts, facts_of
from reports.selectors.units import LEAVING, NEVER, binding_sentence
from reports.selectors.usage import run_at


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitPage:
    """Everything that the page shows."""

    unit: Turbocharger
    standing: Standing | None
    overdue: bool
    why: str
    rules: list[tuple[date, str]]
    now: FitmentRow | None
    run: str
    specification: SpecificationRevision | None
    facts: SpecificationFacts
    strip: WindowStrip | None
    fitments: list[FitmentRow]
    checks: list[CheckRow]
    outlook: Outlook
    curve: dict[str, Any] | None
    curve_check: CheckRow | None
    complaints: list[Complaint]
    notes: list[Note]
    may_check: bool

    @property
    def name(self) -> str:
        """What people call it: the truck's unit number, or the serial number while it is in no truck."""
        return self.now.truck_now.unit_number if self.now and self.now.truck_now else self.unit.serial

    @property
    def state(self) -> str:
        """Its state as last judged, or that it is forecast to leave its window."""
        if self.standing is None:
            return NEVER
        return LEAVING if self.standing.leaving else self.standing.state


def unit_page(*, user: User, pk: int, curve_check: int | None = None, today: date | None = None) -> UnitPage:
    """One turbocharger as `user` may see it; a constant number of queries.

    `curve_check` chooses the curve shown; `today` is the day at its depot where it is not given.

    Raises
    ------
    Http404 : no such turbocharger at a depot of theirs.
    """
    found = visible_to(user, Turbocharger.objects.filter(pk=pk))
    unit = found.select_related("model", "depot", "standing").first()
    if unit is None:
        raise Http404
    standing, today = getattr(unit, "standing", None), today or day_at(unit.depot, timezone.now())
    held = revision_in_force(unit.model, today)
    window = Window.of(held) if held else None
    fitments = fitment_rows(unit, distance_unit=user.distance_unit)
    checks = check_rows(unit, user=user, stays=[row.stay for row in fitments])
    now = next((row for row in fitments if row.removed_on is None), None)
    run_km = _run_km(fitments, now)
    forecast = forecast_of(unit)
    outlook = outlook_of(forecast, standing, checks, fitments, window, run_km=run_km, today=today, user=user)
    chosen = next((row for row in checks if row.pk == curve_check), checks[0] if checks else None)
    return UnitPage(
        unit=unit,
        standing=standing,
        overdue=bool(standing and standing.due_on and standing.due_on < today),
        why=binding_sentence(standing.rules, standing.sentence, user.distance_unit) if standing else "",
        rules=_rules(standing, user.distance_unit),
        now=now,
        run=distance_text(run_km, user.distance_unit) if run_km is not None else "",
        specification=held,
        facts=facts_of(held, user),
        strip=strip_of(checks[0].judged if checks else (), window, user.length_unit, "large", outlook.forecast_today),
        fitments=fitments,
        checks=checks,
        outlook=outlook,
        curve=_curve(chosen, user),
        curve_check=chosen,
        complaints=_complaints(fitments),
        notes=list(unit.notes.select_related("author")),
        may_check=unit.scrapped_on is None and holds(user, "technician", unit.depot),
    )


def _rules(standing: Standing | None, distance_unit: str) -> list[tuple[date, str]]:
    """Every rule that asks for another look, the binding one first: its day and its sentence."""
    fired = standing.rules if standing else []
    return [(date.fromisoformat(rule["on"]), plan_text(rule["sentence"], distance_unit)) for rule in fired]


def _run_km(fitments: Sequence[FitmentRow], now: FitmentRow | None) -> float | None:
    """Distance run up to the truck's latest odometer reading; None where it is not known. One query."""
    if now is None or now.truck_now is None:
        return None
    read = MeterReading.objects.filter(truck=now.truck_now, odometer_km__isnull=False)
    latest = read.order_by("-read_at").values_list("odometer_km", flat=True).first()
    return run_at([row.stay for row in fitments], now.pk, latest)


def _curve(chosen: CheckRow | None, user: User) -> dict[str, Any] | None:
    """The chart of the last stroke of a check. One query."""
    if chosen is None:
        return None
    row = (
        Assessment.objects.filter(stroke__check_made=chosen.pk, is_current=True)
        .select_related("specification__turbocharger_model")
        .order_by("stroke__moment")
        .last()
    )
    if row is None:
        return None
    held = row.specification
    pressure = stimulus_unit(held.turbocharger_model, user)
    curve = curve_of(result_from_json(row.result).features.points, held, user.length_unit, pressure)
    return stroke_figure(curve) if curve else None


def _complaints(fitments: Sequence[FitmentRow]) -> list[Complaint]:
    """Complaints of trucks while they carried the unit, latest first. One query."""
    trucks = {truck.pk for row in fitments for truck in row.trucks}
    rows = Complaint.objects.filter(truck__in=trucks).select_related("truck")
    return [row for row in rows if any(_meanwhile(stay, row) for stay in fitments)]


def _meanwhile(stay: FitmentRow, complaint: Complaint) -> bool:
    carried = any(truck.pk == complaint.truck_id for truck in stay.trucks)
    return carried and stay.fitted_on <= complaint.raised_on <= (stay.removed_on or date.max)
