"""Pages that are a form, whose values go to one service."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.generic import FormView

from fleet.jobs.requests import look_over_soon
from fleet.models import Depot
from fleet.pages.base import Asked
from fleet.pages.fields import TodayField
from fleet.problems import FleetError
from fleet.selectors.clock import day_in
from fleet.selectors.find import visible_row
from fleet.web.access import TECHNICIAN
from fleet.web.forms import show_refusal


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

    @property
    def at_depot(self) -> Depot | None:
        """The depot that the form is about, where it is known."""
        return None

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

    def get_form(self, form_class: Any = None) -> Any:
        form = super().get_form(form_class)
        days = [field for field in form.fields.values() if isinstance(field, TodayField)]
        depot = self.at_depot if days else None
        for field in days:
            field.initial = day_in(depot.time_zone, timezone.now()) if depot else timezone.localdate()
        return form

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


class OwnForm(RegisterForm):
    """A form that offers what its person may choose."""

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"user": self.person}


class OfRow(OwnForm):
    """A form about one row, at a depot where its person holds `role_on_row`.

    `known_by` is what people call the row, `page` the address of its page, `corrected` what the form begins with.
    """

    rows: QuerySet[Any]
    role_on_row: str = TECHNICIAN
    known_by = ""
    page = ""
    corrected: tuple[str, ...] = ()

    @property
    def row(self) -> Any:
        """The row as it is on record."""
        return visible_row(self.person, self.rows.all(), self.kwargs["pk"], role=self.role_on_row)

    @property
    def at_depot(self) -> Depot | None:
        return self.row.depot

    def get_initial(self) -> dict[str, Any]:
        row = self.row if self.corrected else None
        return {name: getattr(row, name) for name in self.corrected}

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        return super().get_context_data(**context) | {"title": f"{self.title} {getattr(self.row, self.known_by)}"}

    def back(self) -> str:
        return reverse(self.page, args=[self.kwargs["pk"]])
