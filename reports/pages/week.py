"""The depot week: what the bay does on which day, and moving it by hand."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views import View

from checks.services.bay import level_now, move_check, undo_move
from fleet.models import Depot, Turbocharger, User
from fleet.problems import FleetError, each_error
from fleet.selectors.find import visible_row
from fleet.selectors.scope import depots_of
from fleet.web.access import MANAGER, ManagerView, PersonRequest, ViewerView
from fleet.web.query import number_in
from reports.selectors.places import places_of
from reports.selectors.sheets import day_sheets
from reports.selectors.week import depot_by_code, week
from reports.sentences.week import week_sentence


class WeeksView(ViewerView, View):
    """Lead to the week of a person's first depot."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the way there, or say that there is none."""
        first = depots_of(request.user).order_by("name").first()
        if first is None:
            return render(request, "reports/week_none.html")
        return redirect("reports:week", first.code)


class WeekView(ViewerView, View):
    """Show seven days of a depot's bay."""

    def get(self, request: PersonRequest, code: str) -> HttpResponse:
        """Answer with the page; ``from`` in the address is its first day."""
        return shown(request, depot_by_code(request.user, code))


class SheetsView(ViewerView, View):
    """One sheet per day of a depot's week, made to be printed."""

    costly = ("GET",)

    def get(self, request: PersonRequest, code: str) -> HttpResponse:
        """Answer with the sheets; ``from`` in the address is the first day."""
        found = week(user=request.user, depot=depot_by_code(request.user, code), wanted=day_from(request.GET))
        context = {"week": found, "sheets": day_sheets(found, user=request.user)}
        return render(request, "reports/week_sheets.html", context)


class ChangeWeek(ManagerView, View):
    """Something that a manager does to the week; the same week comes back."""

    def post(self, request: PersonRequest, code: str) -> HttpResponse:
        """Do it, and answer with the week again: its part for htmx, else by going back to it."""
        depot = depot_by_code(request.user, code, role=MANAGER)
        try:
            told = self.change(request.user, depot, request.POST)
        except FleetError as refusal:
            if refusal.status in {403, 404} or "unit" not in request.POST:
                raise
            return shown(request, depot, refused=refusal, status=422)
        if request.htmx:
            return shown(request, depot, told=told)
        messages.success(request, told)
        back = f"{reverse('reports:week', args=[depot.code])}?from={request.POST.get('from', '')}"
        return redirect(f"{back}#unit-{request.POST.get('unit', '')}")

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Do what was asked and say so."""
        raise NotImplementedError


class MoveView(ChangeWeek):
    """Put a check on another day."""

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Move the unit named to the day named."""
        unit = asked_unit(user, depot, typed)
        day = read_day(typed.get("day", ""))
        move_check(user=user, turbocharger=unit, day=day, reason=typed.get("reason", "")[:200])
        return f"{name_of(unit)} is seen on {day:%A}, {day.day} {day:%B}."


class UndoView(ChangeWeek):
    """Give a moved check back to the plan."""

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Take the unit's move back."""
        unit = asked_unit(user, depot, typed)
        undo_move(user=user, turbocharger=unit)
        return f"{name_of(unit)} has the day that the plan gives it."


class PlanView(ChangeWeek):
    """Plan the depot's bay anew at once."""

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Level the depot."""
        done = level_now(user=user, depot=depot)
        without = f"; {done.unplaced:,} found no day" if done.unplaced else ""
        return f"Planned anew: {done.placed:,} checks have a day{without}."


def shown(
    request: PersonRequest, depot: Depot, *, told: str = "", refused: Any = None, status: int = 200
) -> HttpResponse:
    """The week's page, or for htmx the part of it that changes; what was typed into a refused form comes back."""
    typed = request.POST if request.method == "POST" else request.GET
    found = week(user=request.user, depot=depot, wanted=day_from(typed))
    context = {
        "week": found,
        "sentence": week_sentence(found),
        "told": told,
        "typed": typed if refused else None,
        "wrong": {error.field or "day": error.sentence for error in each_error(refused)} if refused else {},
    }
    part = request.htmx and not request.htmx.history_restore_request
    # htmx swaps only what came with success.
    return render(
        request, "reports/week_plan.html" if part else "reports/week.html", context, status=200 if part else status
    )


def day_from(query: Any) -> date | None:
    """The first day asked for; None where it cannot be read."""
    try:
        return date.fromisoformat(query.get("from", ""))
    except ValueError:
        return None


def read_day(text: str) -> date:
    """A day as typed."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise FleetError("day_unreadable", "day", f"'{text}' is no day. Write it as 2026-03-14.") from error


def asked_unit(user: User, depot: Depot, typed: Any) -> Turbocharger:
    """The turbocharger that a form is about."""
    pk = number_in(typed.get("unit", ""))
    if pk is None:
        raise FleetError("unit_missing", "unit", "This form does not say which unit it is about. Reload the page.")
    rows = Turbocharger.objects.select_related("depot", "standing").filter(depot=depot)
    return visible_row(user, rows, pk, role=MANAGER)


def name_of(unit: Turbocharger) -> str:
    """What people call a unit."""
    place = places_of([unit.pk]).get(unit.pk)
    return place.unit_number if place and place.unit_number else unit.serial
