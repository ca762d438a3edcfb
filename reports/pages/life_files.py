"""Groups of lives with their B10, and every life as it is counted, as CSV."""

from collections.abc import Iterator

from django.http import StreamingHttpResponse
from django.views import View

from checks.models.forecast import Basis
from fleet.imports.report import harmless
from fleet.models import User
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer, csv_lines
from reports.pages.life import basis_from
from reports.selectors.life import KINDS, LifePage, life_page, life_rows
from reports.sentences.life import why_not

GROUP_COLUMNS = (
    "model", "grouped by", "group", "counted in", "settings", "seen outside", "followed late", "B10", "B10 low",
    "B10 high", "Weibull scale", "Weibull shape", "shape low", "shape high", "longest seen", "not told because",
)  # fmt: skip
LIFE_COLUMNS = (
    "model", "serial number", "depot", "origin", "setting", "counted in", "followed from", "last seen inside",
    "first seen outside",
)  # fmt: skip


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
