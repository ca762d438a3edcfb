"""The page of every form that writes a register: show it, hand the entry to a service, show what it refused."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views import View

from checks.pages.fields import EntryForm
from checks.services.entry import Doubts, Entry
from fleet.problems import FleetError
from fleet.web.access import ManagerView, PersonRequest


class EntryView(ManagerView, View):
    """Subclasses say which form, which service and where to go next; nothing typed is lost on a refusal."""

    request: PersonRequest
    template_name = "checks/entry.html"
    done = "Saved."

    def load(self) -> None:
        """Find the rows that the address names; 404 when the person may not see them."""

    def make_form(self, data: Any = None) -> EntryForm:
        """The form, empty or as sent."""
        raise NotImplementedError

    def keep(self, entry: Entry) -> Any:
        """Call the service."""
        raise NotImplementedError

    def next_address(self, row: Any) -> str:
        """Where to go when it is kept."""
        raise NotImplementedError

    def words(self) -> dict[str, Any]:
        """Heading, lead and button of the page."""
        raise NotImplementedError

    def get(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Show the form."""
        self.load()
        return self.page(self.make_form())

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Keep the entry or say why not."""
        self.load()
        form = self.make_form(request.POST)
        try:
            row = self.keep(form.entry)
        except Doubts as doubts:
            form.doubt(doubts)
            return self.page(form, status=422)
        except FleetError as refusal:
            if refusal.status in {403, 404}:
                raise
            form.show(refusal)
            return self.page(form, status=409 if refusal.status == 409 else 422)
        messages.success(request, self.done)
        return redirect(self.next_address(row))

    def page(self, form: EntryForm, status: int = 200) -> HttpResponse:
        """Draw the page with the form as it stands."""
        return render(self.request, self.template_name, {"form": form, **self.words()}, status=status)
