"""How long do settings stay inside their window? The page, its groups and its lives as files."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpResponse, QueryDict, StreamingHttpResponse
from django.shortcuts import render
from django.views import View

from checks.measurement.units import convert
from checks.models.forecast import Basis
from checks.selectors.policy import current_policy
from fleet.imports.report import harmless
from fleet.models import User
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer, csv_lines
from fleet.web.query import number_in
from reports.charts.life import MOST_CURVES, Group, life_figure
from reports.selectors.life import KINDS, LifePage, ModelLife, life_page, life_rows
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
GROUP_COLUMNS = (
    "model", "grouped by", "group", "counted in", "settings", "seen outside", "followed late", "B10", "B10 low",
    "B10 high", "Weibull scale", "Weibull shape", "shape low", "shape high", "longest seen", "not told because",
)  # fmt: skip
LIFE_COLUMNS = (
    "model", "serial number", "depot", "origin", "setting", "counted in", "followed from", "last seen inside",
    "first seen outside",
)  # fmt: skip


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


class LifeFileView(ViewerView, View):
    """Groups with B10 and limits (``groups``) or every life as it is counted (``lives``), as CSV in km or h."""

    costly = ("GET",)
    lives = False

    def get(self, request: PersonRequest) -> StreamingHttpResponse:
        """Answer with the file."""
        basis = basis_from(request.GET)
        if self.lives:
            return csv_answer("lives.csv", csv_lines(LIFE_COLUMNS, _lives(request.user, basis)))
        rows = _groups(life_page(user=request.user, basis=basis))
        return csv_answer("life-groups.csv", csv_lines(GROUP_COLUMNS, rows))


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


def _groups(page: LifePage) -> Iterator[list[str]]:
    for model in page.models:
        for row in (model.whole, *(group for kind in KINDS for group in model.groups[kind])):
            b10 = row.b10
            told = (b10.usage, b10.low, b10.high, row.eta) if b10 else (None,) * 4
            yield [
                harmless(row.model), row.kind, harmless(row.name), "km" if page.basis == Basis.KM else "h",
                str(row.lives), str(row.events), str(row.late), *(_number(value) for value in told),
                *(f"{value:.4f}" if b10 else "" for value in (row.beta, *row.beta_limits)), _number(row.longest),
                why_not(row),
            ]  # fmt: skip


def _lives(user: User, basis: Basis) -> Iterator[list[str]]:
    for row in life_rows(user=user, basis=basis):
        yield [
            harmless(row["model"]), harmless(row["serial"]), harmless(row["depot"]), row["origin"], row["setting"],
            "km" if basis == Basis.KM else "h", *(_number(row[name]) for name in ("entry", "left", "right")),
        ]  # fmt: skip


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"
