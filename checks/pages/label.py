"""Where the code on a label leads: to the turbocharger that bears it."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views import View

from checks.selectors.label import unit_of_label
from fleet.web.access import PersonRequest, ViewerView


class LabelView(ViewerView, View):
    """The address in a label's code."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest, code: str) -> HttpResponse:
        """Lead to the page of the turbocharger."""
        return redirect("reports:unit", unit_of_label(request.user, code).pk)
