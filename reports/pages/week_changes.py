"""What a manager does to the depot week: checks moved by hand, and the bay planned anew."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views import View

from checks.services.bay import level_now, move_check, undo_move
from fleet.models import Depot, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.find import visible_row
from fleet.web.access import MANAGER, ManagerView, PersonRequest
from fleet.web.query import number_in
from reports.pages.week import shown
from reports.selectors.places import name_of, places_of
from reports.selectors.week import depot_by_code


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
        return f"{_name(unit)} is seen on {day:%A}, {day.day} {day:%B}."


class UndoView(ChangeWeek):
    """Give a moved check back to the plan."""

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Take the unit's move back."""
        unit = asked_unit(user, depot, typed)
        undo_move(user=user, turbocharger=unit)
        return f"{_name(unit)} has the day that the plan gives it."


class PlanView(ChangeWeek):
    """Plan the depot's bay anew at once."""

    def change(self, user: User, depot: Depot, typed: Any) -> str:
        """Level the depot."""
        done = level_now(user=user, depot=depot)
        without = f"; {done.unplaced:,} found no day" if done.unplaced else ""
        return f"Planned anew: {done.placed:,} checks have a day{without}."


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


def _name(unit: Turbocharger) -> str:
    return name_of(places_of([unit.pk]).get(unit.pk), unit.serial)
