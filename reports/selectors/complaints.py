"""Complaints: the list, and one of them with its evidence."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Min, Q, QuerySet
from django.http import Http404

from checks.components import Window, WindowStrip, window_strip
from checks.components.window_strip import ForecastToday, Reading
from checks.models import Assessment, Check, ComplaintAnswer
from checks.rules.evidence import Basis, Look
from checks.rules.recheck.open_complaint import ASKING
from checks.selectors.evidence import Weighed, weighed
from fleet.models import Complaint, Membership, User
from fleet.selectors.changes import Change, record_of_changes
from fleet.selectors.scope import holds, visible_to
from reports.charts.complaint import month_figure
from reports.selectors.complaint_months import MonthRow, month_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintRow:
    """A complaint in the list; ``answer`` is the check that answered it."""

    pk: int
    truck_pk: int
    truck: str
    depot: str
    kind: str
    raised_on: date
    raised_by: str
    text: str
    finding: str
    closed_on: date | None
    answer: int | None
    asks: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What is open at a person's depots, whatever the list is narrowed to."""

    open: int
    oldest: date | None
    asking: int


def complaints_for(
    user: User, *, state: str = "open", kind: str = "", depot: int | None = None, find: str = ""
) -> QuerySet[Complaint]:
    """Complaints that match, about trucks of the depots of `user`; ``find`` is part of a unit number."""
    rows = visible_to(user, Complaint.objects.select_related("truck__depot", "answer"), depot="truck__depot")
    if state != "all":
        rows = rows.filter(closed_on__isnull=state == "open")
    if kind:
        rows = rows.filter(kind=kind)
    if depot:
        rows = rows.filter(truck__depot=depot)
    if find:
        rows = rows.filter(truck__unit_number__icontains=find)
    return rows


def complaint_row(row: Complaint) -> ComplaintRow:
    """A row of `complaints_for` as the list shows it; no query."""
    answer: ComplaintAnswer | None = getattr(row, "answer", None)
    return ComplaintRow(
        pk=row.pk, truck_pk=row.truck_id, truck=row.truck.unit_number, depot=row.truck.depot.name,
        kind=row.get_kind_display(), raised_on=row.raised_on, raised_by=row.raised_by, text=row.text,
        finding=row.finding, closed_on=row.closed_on, answer=answer.check_made_id if answer else None,
        asks=row.closed_on is None and row.kind in ASKING,
    )  # fmt: skip


def held(user: User) -> Held:
    """Open complaints in one query."""
    rows = visible_to(user, Complaint.objects.filter(closed_on__isnull=True), depot="truck__depot")
    found = rows.aggregate(all=Count("pk"), oldest=Min("raised_on"), asking=Count("pk", filter=Q(kind__in=ASKING)))
    return Held(open=found["all"], oldest=found["oldest"], asking=found["asking"])


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitShown:
    """A turbocharger of the truck on that day, with its strip: the reading or the forecast that the sentence names."""

    pk: int
    name: str
    strip: WindowStrip | None
    check: int | None
    fitted_now: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintPage:
    """Everything that the page shows."""

    complaint: Complaint
    found: Weighed
    units: list[UnitShown]
    months: list[MonthRow]
    figure: dict[str, Any] | None
    answer: ComplaintAnswer | None
    answer_state: str
    made_for: list[Check]
    changes: list[Change]
    may_amend: bool
    may_close: bool
    may_check: bool


def complaint_page(*, user: User, pk: int) -> ComplaintPage:
    """One complaint as `user` may see it; a constant number of queries. Raises Http404."""
    rows = visible_to(user, Complaint.objects.filter(pk=pk), depot="truck__depot")
    row = rows.select_related("truck__depot", "recorded_by").first()
    if row is None:
        raise Http404
    found = weighed(row)
    months = month_rows(found)
    marks = [month.fuel.mark for month in months if month.fuel]
    answer = ComplaintAnswer.objects.filter(complaint=row).select_related("check_made__turbocharger").first()
    works = holds(user, Membership.Role.TECHNICIAN, row.truck.depot)
    manages = holds(user, Membership.Role.MANAGER, row.truck.depot)
    return ComplaintPage(
        complaint=row,
        found=found,
        units=[_unit(judged.stand.name, found, user) for judged in found.evidence.units],
        months=months,
        figure=month_figure(marks, raised_on=row.raised_on, kind=row.get_kind_display()) if marks else None,
        answer=answer,
        answer_state=_state_of(answer),
        made_for=list(row.checks.select_related("turbocharger").order_by("-made_at")),
        changes=record_of_changes(Complaint.history.filter(id=pk)),
        may_amend=manages or (works and row.closed_on is None),
        may_close=manages and row.closed_on is None,
        may_check=works and row.closed_on is None,
    )


def _state_of(answer: ComplaintAnswer | None) -> str:
    if answer is None:
        return ""
    rows = Assessment.objects.filter(stroke__check_made=answer.check_made_id, is_current=True)
    return str(rows.order_by("stroke__moment").values_list("state", flat=True).first() or "void")


def _unit(name: str, found: Weighed, user: User) -> UnitShown:
    carried = found.carried_as(name)
    judged = next(unit for unit in found.evidence.units if unit.stand.name == name)
    stand, held_then = judged.stand, carried.window
    look = stand.since if judged.basis == Basis.CHECK_SINCE else stand.before
    check = next((pk for pk, one in carried.checks if one is look), None)
    strip = None
    if held_then is not None:
        window = Window.of(held_then)
        told = stand.forecast if judged.basis == Basis.FORECAST else None
        forecast_today = ForecastToday(travel_mm=told.travel_mm, sd_mm=told.sd_mm) if told else None
        readings = _readings(look, since=judged.basis == Basis.CHECK_SINCE)
        strip = window_strip(window, readings, unit=user.length_unit, size="large", forecast_today=forecast_today)
    return UnitShown(pk=carried.turbocharger, name=name, strip=strip, check=check, fitted_now=carried.fitted_now)


def _readings(look: Look | None, *, since: bool) -> list[Reading]:
    """What a check since found and left; of one before, how it left the wastegate."""
    if look is None:
        return []
    found = Reading(state=look.state, travel_mm=look.travel_mm, expanded_mm=look.expanded_mm, moment="as_found")
    left = Reading(state=look.left, travel_mm=look.left_mm, expanded_mm=look.left_expanded_mm, moment="as_left")
    wanted = [found, *([left] if look.left else [])] if since else [left if look.left else found]
    return [reading for reading in wanted if reading.travel_mm is not None]
