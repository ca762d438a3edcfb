"""Turbochargers: the list, one turbocharger, its forms and its notes."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.models import Turbocharger
from fleet.pages.base import RegisterList, may_at
from fleet.pages.form_page import OfRow, OwnForm
from fleet.pages.forms import NoteForm, TurbochargerEditForm, TurbochargerFilters, TurbochargerForm
from fleet.selectors.turbocharger import turbocharger_detail, turbocharger_row, turbochargers_for
from fleet.services.turbocharger import add_note, add_turbocharger, edit_turbocharger
from fleet.web.access import MANAGER, ManagerView, PersonRequest, TechnicianView, ViewerView


class Turbochargers(RegisterList):
    template = "fleet/turbochargers.html"
    order = ("serial",)
    filters = TurbochargerFilters
    row = staticmethod(turbocharger_row)

    def found(self, wanted: dict[str, Any]) -> QuerySet[Turbocharger]:
        keys = {name: row.pk if (row := wanted.get(name)) else None for name in ("depot", "model")}
        return turbochargers_for(self.person, find=wanted.get("find", ""), place=wanted.get("place", ""), **keys)


class TurbochargerPage(ViewerView, View):
    """The register's record of one turbocharger; its checks are on the unit page."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        detail = turbocharger_detail(request.user, pk)
        may = may_at(detail.turbocharger.depot, request.user)
        return render(request, "fleet/turbocharger.html", {"detail": detail, "unit": detail.turbocharger, **may})


class AddTurbocharger(ManagerView, OwnForm):
    form_class = TurbochargerForm
    title = "Add a turbocharger"
    lead = "New and reconditioned turbochargers arrive set: they need no check before they are fitted."
    done = "The turbocharger is in stock."

    def serve(self, typed: dict[str, Any]) -> str:
        row = add_turbocharger(user=self.person, **typed)
        return self.onward("fleet:fit", row.pk, "engine", "position") or reverse("fleet:turbocharger", args=[row.pk])

    def back(self) -> str:
        return reverse("fleet:turbochargers")


class OfTurbocharger(OfRow):
    """A form about one turbocharger."""

    rows = Turbocharger.objects.select_related("depot", "model")
    known_by = "serial"
    page = "fleet:turbocharger"


class EditTurbocharger(ManagerView, OfTurbocharger):
    role_on_row = MANAGER
    form_class = TurbochargerEditForm
    title = "Correct turbocharger"
    corrected = ("serial", "model", "origin", "received_on", "depot", "scrapped_on")

    def serve(self, typed: dict[str, Any]) -> str:
        edit_turbocharger(user=self.person, turbocharger=self.row, **typed)
        return self.back()


class AddNote(TechnicianView, OfTurbocharger):
    form_class = NoteForm
    title = "Note on turbocharger"
    lead = "Kept as written, with your name."
    done = "The note is kept."

    def serve(self, typed: dict[str, Any]) -> str:
        add_note(user=self.person, turbocharger=self.row, **typed)
        return self.back()
