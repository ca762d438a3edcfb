"""What the pages of the register share: a list by position, and a form that hands on to one service."""

from collections.abc import Callable
from typing import Any, cast
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views import View
from django.views.generic import FormView

from fleet.jobs.requests import look_over_soon
from fleet.models import User
from fleet.problems import FleetError
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.forms import show_refusal
from fleet.web.pagination import page_after


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


class RegisterForm(Asked, FormView):
    """A form whose values go to one service; refusals come back beside the fields with all that was typed.

    Mixed with a RoleView. `serve` calls the service and returns where to go next.
    """

    template_name = "fleet/form_page.html"
    title = ""
    lead = ""
    submit = "Save"
    done = "Saved."
    caution = False

    def serve(self, typed: dict[str, Any]) -> str:
        raise NotImplementedError

    def back(self) -> str:
        """Where 'leave without saving' leads."""
        raise NotImplementedError

    def handed_on(self, *names: str) -> dict[str, str]:
        """What the page before put into the address, so that nobody types it twice."""
        return {name: given[:60] for name in names if (given := self.request.GET.get(name, ""))}

    def onward(self, page: str, pk: int, *names: str) -> str:
        """The next form of one job over several pages, with what was handed on; "" where nothing was."""
        given = self.handed_on(*names)
        return f"{reverse(page, args=[pk])}?{urlencode(given)}" if given else ""

    def form_valid(self, form: Any) -> HttpResponse:
        try:
            target = self.serve(form.cleaned_data)
        except FleetError as refusal:
            if refusal.status in {403, 404}:
                raise
            show_refusal(form, refusal)
            return self.form_invalid(form)
        look_over_soon()  # units that this touched have a date before their page is asked for
        if self.done:
            messages.success(self.request, self.done)
        return redirect(target)

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form))

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        words = {"title": self.title, "lead": self.lead, "submit": self.submit, "caution": self.caution}
        return super().get_context_data(**words, back=self.back(), **context)
