"""What the pages of the register share: who asks, what that person may do at a depot, a list by position."""

from collections.abc import Callable
from typing import Any, cast

from django import forms
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.views import View

from fleet.models import Depot, User
from fleet.selectors.scope import holds
from fleet.web.access import MANAGER, TECHNICIAN, PersonRequest, ViewerView
from fleet.web.pagination import page_after


def may_at(depot: Depot, user: User) -> dict[str, bool]:
    """What a page about something at `depot` may offer its reader."""
    return {"manages": holds(user, MANAGER, depot), "works": holds(user, TECHNICIAN, depot)}


class Asked(View):
    """A view that somebody who signed in asked for."""

    @property
    def person(self) -> User:
        """Who asks."""
        return cast(User, self.request.user)


class RegisterList(ViewerView, Asked):
    """A long list, narrowed by a form and read page by page."""

    template = ""
    order: tuple[str, ...] = ("pk",)
    filters: Callable[[User, QueryDict], forms.Form]
    row: Callable[[Any], Any]

    def found(self, wanted: dict[str, Any]) -> QuerySet[Any]:
        """Rows that match the filter form's cleaned values."""
        raise NotImplementedError

    def get(self, request: PersonRequest) -> HttpResponse:
        form = type(self).filters(request.user, request.GET)
        wanted = form.cleaned_data if form.is_valid() else {}
        page = page_after(self.found(wanted), order=self.order, mark=request.GET.get("after", ""))
        query = request.GET.copy()
        query["after"] = page.next_mark
        context = {
            "rows": [type(self).row(row) for row in page.rows],
            "filters": form,
            "narrowed": any(wanted.values()),
            "next": f"?{query.urlencode()}" if page.next_mark else "",
            "first": bool(request.GET.get("after")),
            **self.more(),
        }
        return render(request, self.template, context)

    def more(self) -> dict[str, Any]:
        """What the template needs beyond the rows."""
        return {}
