"""Turbocharger models: the list, one model, and their forms."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.models import TurbochargerModel
from fleet.pages.form_page import OwnForm
from fleet.pages.forms import TurboModelForm
from fleet.selectors.turbocharger import model_detail, model_rows
from fleet.services.turbocharger import add_model, edit_model
from fleet.web.access import ManagerView, PersonRequest, ViewerView


class Models(ViewerView, View):
    """All models; they are shared by the depots."""

    def get(self, request: PersonRequest) -> HttpResponse:
        return render(request, "fleet/models.html", {"rows": model_rows(request.user)})


class ModelPage(ViewerView, View):
    """One model with its record of changes."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        return render(request, "fleet/model.html", {"detail": model_detail(request.user, pk)})


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
