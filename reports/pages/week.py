"""The depot week: what the bay does on which day."""

from datetime import date
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views import View

from fleet.models import Depot
from fleet.problems import each_error
from fleet.selectors.scope import depots_of
from fleet.web.access import PersonRequest, ViewerView
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
