"""What programs can do, to read and to try out."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.web.access import PersonRequest, ViewerView


class ApiDocs(ViewerView, View):
    """The description of the interface for programs, drawn by a script that is served from here."""

    http_method_names = ["get"]

    def get(self, request: PersonRequest) -> HttpResponse:
        return render(request, "fleet/api_docs.html")
