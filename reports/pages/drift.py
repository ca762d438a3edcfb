"""Drift by model: the list of models, and the page of one."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views import View

from fleet.web.access import PersonRequest, ViewerView
from reports.selectors.model_drift import model_page
from reports.selectors.models_drift import models_page
from reports.sentences.drift import model_sentence, models_sentence


class ModelsView(ViewerView, View):
    """Show how each model drifts, and what stands out."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with one row for each model."""
        page = models_page(user=request.user)
        return render(request, "reports/models.html", {"page": page, "sentence": models_sentence(page)})


class ModelView(ViewerView, View):
    """Show all units of one model."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the page; unit rows are those of the viewer's depots, estimates the whole fleet's."""
        page = model_page(user=request.user, pk=pk, today=timezone.localdate())
        context: dict[str, Any] = {"page": page, "sentence": model_sentence(page)}
        return render(request, "reports/model.html", context)
