"""The list of units to see again."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.selectors.register import has_turbochargers
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.query import number_in
from reports.selectors.due import HORIZONS, due_list
from reports.sentences.board import NO_UNIT, due_sentence


class DueView(ViewerView, View):
    """Show what is due, depot by depot; made to be printed as well."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the list; ``days`` and ``depot`` in the address narrow it."""
        days = request.GET.get("days", "")
        horizon = int(days) if days in {str(choice) for choice in HORIZONS} else 30
        chosen = number_in(request.GET.get("depot", ""))
        found = due_list(user=request.user, days=horizon, depot=chosen)
        bare = not found.due and not has_turbochargers(request.user)
        context = {
            "due": found,
            "bare": bare,
            "days": horizon,
            "depot": chosen,
            "horizons": HORIZONS,
            "sentence": NO_UNIT if bare else due_sentence(found, HORIZONS[horizon]),
        }
        return render(request, "reports/due.html", context)
