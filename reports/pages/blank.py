"""Blank sheets of checks, one a unit, for whoever works on paper."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from checks.models import Check
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.query import numbers_in
from reports.selectors.blank import MOST, blank_sheets


class BlankSheetsView(ViewerView, View):
    """The sheets of the units named in the address."""

    costly = ("GET",)

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the sheets; ``unit`` stands in the address once for each."""
        units = numbers_in(request.GET.getlist("unit"))
        context = {
            "sheets": blank_sheets(user=request.user, units=units),
            "reasons": Check.Reason.labels,
            "left_out": max(0, len(units) - MOST),
            "most": MOST,
        }
        return render(request, "reports/blank_sheets.html", context)
