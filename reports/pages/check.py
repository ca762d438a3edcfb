"""The page of one check, and the sheet that is printed of it."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from checks.models import Check, CheckPhoto
from checks.selectors.photo import photos_of
from checks.selectors.recalled import recall_of
from fleet.models import User
from fleet.selectors.scope import holds
from fleet.web.access import TECHNICIAN, PersonRequest, ViewerView
from reports.selectors.check import check_page


class CheckView(ViewerView, View):
    """Show one check."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the page."""
        page = check_page(user=request.user, pk=pk)
        context = {"page": page, **recall_of(request.user, page.check.pk)} | photographs(request.user, page.check)
        return render(request, "reports/check.html", context)


class CheckSheetView(ViewerView, View):
    """Show the sheet of one check."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the sheet."""
        page = check_page(user=request.user, pk=pk)
        context = {"page": page, "photos": photos_of(page.check), **recall_of(request.user, page.check.pk)}
        return render(request, "reports/check_sheet.html", context)


def photographs(user: User, check: Check) -> dict[str, Any]:
    """What the photographs' part of the page shows, and the form to add one. Two queries."""
    return {
        "photos": photos_of(check),
        "photo_kinds": CheckPhoto.What.choices,
        "photo_key": uuid.uuid4(),
        "may_add_photo": holds(user, TECHNICIAN, check.turbocharger.depot),
    }
