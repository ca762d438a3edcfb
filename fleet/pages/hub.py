"""The register's first page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.selectors.register import holdings
from fleet.web.access import PersonRequest, ViewerView


class Hub(ViewerView, View):
    """What the register holds, and the way to each part of it."""

    def get(self, request: PersonRequest) -> HttpResponse:
        return render(request, "fleet/register.html", {"held": holdings(request.user)})
