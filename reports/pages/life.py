"""How long do settings stay inside their window? The page."""

from typing import Any

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.views import View

from checks.measurement.units import convert
from checks.models.forecast import Basis
from checks.selectors.policy import current_policy
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.query import number_in
from reports.charts.life import MOST_CURVES, Group, life_figure
from reports.selectors.life import KINDS, ModelLife, life_page
from reports.sentences.life import (
    compared_sentence,
    life_sentence,
    limits_text,
    shape_sentence,
    tested_sentence,
    usage_text,
    why_not,
)

KIND_LABELS = {"": "all together", "depot": "by depot", "origin": "new or reconditioned",
               "setting": "delivered or set here"}  # fmt: skip


class LifeView(ViewerView, View):
    """Show one model's lives, all together or in groups, and every model's B10."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page; ``model``, ``by`` and ``usage`` in the address choose what is shown."""
        basis, unit = basis_from(request.GET), request.user.distance_unit
        page = life_page(user=request.user, basis=basis)
        model, kind = page.model(number_in(request.GET.get("model", ""))), _kind(request.GET)
        groups = (model.groups[kind] if kind else (model.whole,)) if model else ()
        context: dict[str, Any] = {
            "page": page,
            "model": model,
            "kind": kind,
            "kinds": KIND_LABELS.items(),
            "bases": Basis.choices,
            "sentence": life_sentence(page, model, unit),
            "shape": shape_sentence(model.whole) if model else "",
            "lines": [_line(row.whole, basis, unit) for row in page.models],
            "models_compared": compared_sentence(page.compared, tuple(row.whole for row in page.models), "model"),
            "models_tested": tested_sentence(page.compared),
        }
        if model:
            context |= _of_model(model, groups, basis, unit)
        return render(request, "reports/life.html", context)


def basis_from(query: QueryDict) -> Basis:
    """What use is counted in; what cannot be read is the policy's."""
    text = query.get("usage", "")
    return Basis(text) if text in Basis.values else Basis(current_policy().usage_basis)


def _kind(query: QueryDict) -> str:
    text = query.get("by", "")
    return text if text in KINDS else ""


def _of_model(model: ModelLife, groups: tuple[Group, ...], basis: Basis, unit: str) -> dict[str, Any]:
    """What is shown of the model chosen."""
    hours = basis == Basis.HOURS
    drawn = sorted((row for row in groups if row.steps or row.reaches), key=lambda row: -row.lives)
    usage = (lambda value: value) if hours else (lambda value: convert(value, "km", unit))
    return {
        "figure": life_figure(drawn, model.ticks, usage, "h" if hours else unit) if drawn else None,
        "drawn": min(len(drawn), MOST_CURVES),
        "undrawn": len(drawn) > MOST_CURVES,
        "ticks": [usage_text(tick, basis, unit) for tick in model.ticks],
        "counts": [(row.name, row.followed) for row in groups],
        "tables": [
            {
                "kind": kind,
                "label": KIND_LABELS[kind],
                "lines": [_line(row, basis, unit) for row in model.groups[kind]],
                "said": compared_sentence(model.compared.get(kind), model.groups[kind], kind),
                "tested": tested_sentence(model.compared.get(kind)),
            }
            for kind in KINDS
            # A group of all is told above.
            if any(row.lives < model.whole.lives for row in model.groups[kind])
        ],
        "late": model.whole.late,
    }


def _line(row: Group, basis: Basis, unit: str) -> dict[str, Any]:
    b10 = row.b10
    return {
        "row": row,
        "b10": usage_text(b10.usage, basis, unit) if b10 else "",
        "limits": limits_text(b10, basis, unit) if b10 else "",
        "beyond": b10 is not None and b10.usage > row.longest,
        "shape": f"{row.beta:.2f} ({row.beta_limits[0]:.2f} to {row.beta_limits[1]:.2f})" if b10 else "",
        "why": why_not(row),
        "longest": usage_text(row.longest, basis, unit),
    }
