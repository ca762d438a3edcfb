"""The page of one turbocharger."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from checks.selectors.recalled import recall_of
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.query import number_in
from reports.pages.unit_fuel import fuel_part
from reports.selectors.unit import unit_page
from reports.sentences.unit import unit_sentence


class UnitView(ViewerView, View):
    """Show one turbocharger."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the page; ``curve`` in the address chooses the check whose curve is drawn."""
        chosen = number_in(request.GET.get("curve", ""))
        page = unit_page(user=request.user, pk=pk, curve_check=chosen)
        last = page.checks[0].pk if page.checks else 0
        context = {"page": page, "sentence": unit_sentence(page), "fuel": fuel_part(page, request.user)}
        context |= recall_of(request.user, last)
        return render(request, "reports/unit.html", context)
