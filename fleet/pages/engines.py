"""Engines: the list, one engine, its forms, and its way into and out of a truck."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.models import Engine
from fleet.pages.base import RegisterList, may_at
from fleet.pages.bay_forms import InstallForm, UninstallForm
from fleet.pages.form_page import OfRow, OwnForm
from fleet.pages.forms import EngineForm, Filters
from fleet.selectors.engine import engine_detail, engine_row, engines_for
from fleet.selectors.find import truck_by_number
from fleet.services.engine import add_engine, edit_engine, install_engine, uninstall_engine
from fleet.web.access import MANAGER, TECHNICIAN, ManagerView, PersonRequest, TechnicianView, ViewerView


class Engines(RegisterList):
    template = "fleet/engines.html"
    order = ("serial",)
    filters = Filters
    row = staticmethod(engine_row)

    def found(self, wanted: dict[str, Any]) -> QuerySet[Engine]:
        depot = wanted.get("depot")
        return engines_for(self.person, find=wanted.get("find", ""), depot=depot.pk if depot else None)


class EnginePage(ViewerView, View):
    """One engine: where it sits and what is fitted to it."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        detail = engine_detail(request.user, pk)
        may = may_at(detail.engine.depot, request.user)
        return render(request, "fleet/engine.html", {"detail": detail, "engine": detail.engine, **may})


class AddEngine(ManagerView, OwnForm):
    form_class = EngineForm
    title = "Add an engine"
    lead = "Its layout says which positions a turbocharger can be fitted in."
    done = "The engine is in the register."

    def serve(self, typed: dict[str, Any]) -> str:
        engine = add_engine(user=self.person, **typed)
        return self.onward("fleet:install", engine.pk, "truck") or reverse("fleet:engine", args=[engine.pk])

    def back(self) -> str:
        return reverse("fleet:engines")


class OfEngine(OfRow):
    """A form about one engine."""

    rows = Engine.objects.select_related("depot")
    known_by = "serial"
    page = "fleet:engine"


class EditEngine(ManagerView, OfEngine):
    role_on_row = MANAGER
    form_class = EngineForm
    title = "Correct engine"
    corrected = ("serial", "model", "layout", "depot")

    def serve(self, typed: dict[str, Any]) -> str:
        edit_engine(user=self.person, engine=self.row, **typed)
        return self.back()


class Install(TechnicianView, OfEngine):
    form_class = InstallForm
    title = "Install engine"
    lead = "The engine and its turbochargers then belong to the depot of the truck."
    done = "The engine sits in the truck."
    caution = True

    def get_initial(self) -> dict[str, Any]:
        return self.handed_on("truck")

    def serve(self, typed: dict[str, Any]) -> str:
        user = self.person
        truck = truck_by_number(user, typed["truck"], field="truck", role=TECHNICIAN)
        install_engine(user=user, engine=self.row, truck=truck, installed_on=typed["installed_on"])
        return self.back()


class Uninstall(TechnicianView, OfEngine):
    form_class = UninstallForm
    title = "Take out engine"
    lead = "Its turbochargers stay fitted to it."
    done = "The engine is out of the truck."
    caution = True

    def serve(self, typed: dict[str, Any]) -> str:
        uninstall_engine(user=self.person, engine=self.row, **typed)
        return self.back()
