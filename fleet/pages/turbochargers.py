"""Turbocharger models and turbochargers: the lists, one turbocharger, and their forms."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.models import Turbocharger, TurbochargerModel
from fleet.pages.base import RegisterList
from fleet.pages.depots import OwnForm
from fleet.pages.forms import NoteForm, TurbochargerEditForm, TurbochargerFilters, TurbochargerForm, TurboModelForm
from fleet.selectors.find import visible_row
from fleet.selectors.scope import holds
from fleet.selectors.turbocharger import (
    model_detail,
    model_rows,
    turbocharger_detail,
    turbocharger_row,
    turbochargers_for,
)
from fleet.services.complaint import add_note
from fleet.services.turbocharger import add_model, add_turbocharger, edit_model, edit_turbocharger
from fleet.web.access import MANAGER, TECHNICIAN, ManagerView, PersonRequest, TechnicianView, ViewerView


class Models(ViewerView, View):
    """All models; they are shared by the depots."""

    def get(self, request: PersonRequest) -> HttpResponse:
        context = {"rows": model_rows(request.user), "manages": holds(request.user, MANAGER)}
        return render(request, "fleet/models.html", context)


class ModelPage(ViewerView, View):
    """One model with its record of changes."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        context = {"detail": model_detail(request.user, pk), "manages": holds(request.user, MANAGER)}
        return render(request, "fleet/model.html", context)


class AddModel(ManagerView, OwnForm):
    form_class = TurboModelForm
    title = "Add a turbocharger model"
    lead = "Its specification, with setting and window, is written next."
    done = "The model is in the register. Enter its specification."

    def serve(self, typed: dict[str, Any]) -> str:
        return reverse("checks:specification_add", args=[add_model(user=self.person, **typed).pk])

    def back(self) -> str:
        return reverse("fleet:models")


class EditModel(AddModel):
    title = "Correct a model"
    lead = "Models are shared by all depots."
    done = "Saved."

    @property
    def model(self) -> TurbochargerModel:
        return model_detail(self.person, self.kwargs["pk"]).model

    def get_initial(self) -> dict[str, Any]:
        model = self.model
        return {name: getattr(model, name) for name in ("name", "stimulus", "note")}

    def serve(self, typed: dict[str, Any]) -> str:
        edit_model(user=self.person, model=self.model, **typed)
        return self.back()


class Turbochargers(RegisterList):
    template = "fleet/turbochargers.html"
    order = ("serial",)
    filters = TurbochargerFilters
    row = staticmethod(turbocharger_row)

    def found(self, wanted: dict[str, Any]) -> QuerySet[Turbocharger]:
        keys = {name: row.pk if (row := wanted.get(name)) else None for name in ("depot", "model")}
        return turbochargers_for(self.person, find=wanted.get("find", ""), place=wanted.get("place", ""), **keys)

    def more(self) -> dict[str, Any]:
        return {"manages": holds(self.person, MANAGER)}


class TurbochargerPage(ViewerView, View):
    """The register's record of one turbocharger; its checks are on the unit page."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        detail = turbocharger_detail(request.user, pk)
        depot = detail.turbocharger.depot
        may = {"manages": holds(request.user, MANAGER, depot), "works": holds(request.user, TECHNICIAN, depot)}
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


class OfTurbocharger(OwnForm):
    """A form about one turbocharger."""

    role_on_unit = TECHNICIAN

    @property
    def turbocharger(self) -> Turbocharger:
        rows = Turbocharger.objects.select_related("depot", "model")
        return visible_row(self.person, rows, self.kwargs["pk"], role=self.role_on_unit)

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        return super().get_context_data(**context) | {"title": f"{self.title} {self.turbocharger.serial}"}

    def back(self) -> str:
        return reverse("fleet:turbocharger", args=[self.kwargs["pk"]])


class EditTurbocharger(ManagerView, OfTurbocharger):
    role_on_unit = MANAGER
    form_class = TurbochargerEditForm
    title = "Correct turbocharger"

    def get_initial(self) -> dict[str, Any]:
        row = self.turbocharger
        return {
            name: getattr(row, name) for name in ("serial", "model", "origin", "received_on", "depot", "scrapped_on")
        }

    def serve(self, typed: dict[str, Any]) -> str:
        edit_turbocharger(user=self.person, turbocharger=self.turbocharger, **typed)
        return self.back()


class AddNote(TechnicianView, OfTurbocharger):
    form_class = NoteForm
    title = "Note on turbocharger"
    lead = "Kept as written, with your name."
    done = "The note is kept."

    def serve(self, typed: dict[str, Any]) -> str:
        add_note(user=self.person, turbocharger=self.turbocharger, **typed)
        return self.back()
