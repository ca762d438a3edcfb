"""The page of what restored units gave back, and its table as a file."""

from typing import Any

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views import View

from checks.display import day_text, length_text
from checks.selectors.fuel import Amount
from fleet.imports.report import harmless
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer, csv_lines
from fleet.web.query import number_in
from reports.charts.restored import MOST_LINES, Line, Mean, restored_figure
from reports.selectors.restored import Restored, RestoredPage, restored_page, restored_rows
from reports.sentences.restored import restored_sentence, stood
from reports.words.fuel import amount_text, share_text

COLUMNS = (
    "truck", "serial number", "depot", "model", "restored on", "how", "stood", "beyond limit mm", "months before",
    "months after", "trucks without a change", "change %", "low %", "high %", "litres saved since", "low", "high",
    "not told because",
)  # fmt: skip


class RestoredView(ViewerView, View):
    """What putting units right gave back in fuel."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page; ``depot`` in the address narrows it."""
        depot, unit = _depot(request), request.user.length_unit
        page = restored_page(user=request.user, depot=depot)
        context: dict[str, Any] = {
            "page": page,
            "depot": depot,
            "sentence": restored_sentence(page),
            "lines": [_line(row, unit) for row in page.told],
            "untold": [_line(row, unit) for row in page.untold],
            "mean": share_text(page.mean.value, page.mean.low, page.mean.high) if page.mean else "",
            "most": MOST_LINES,
        }
        if page.told:
            context["figure"] = restored_figure(_events(page), _mean(page))
            # Charts get their height from the style sheet, in steps of ten lines.
            context["tens"] = min(-(-len(page.told) // 10), MOST_LINES // 10)
        return render(request, "reports/restored.html", context)


class RestoredFileView(ViewerView, View):
    """All restorations as CSV, row by row."""

    costly = ("GET",)

    def get(self, request: PersonRequest) -> StreamingHttpResponse:
        """Answer with the file."""
        rows = map(_cells, restored_rows(user=request.user, depot=_depot(request)))
        return csv_answer("restored.csv", csv_lines(COLUMNS, rows))


def _depot(request: PersonRequest) -> int | None:
    return number_in(request.GET.get("depot", ""))


def _line(row: Restored, unit: str) -> dict[str, Any]:
    return {
        "row": row,
        "day": day_text(row.day),
        "stood": stood(row, unit),
        "change": share_text(row.change.value, row.change.low, row.change.high) if row.change else "",
        "saved": amount_text(row.saved_litres, "L") if row.saved_litres else "",
    }


def _events(page: RestoredPage) -> list[Line]:
    total = sum(row.weight for row in page.told)
    return [
        Line(
            name=f"{row.unit_number}, {row.day:%b %Y}", side=row.side, change=100 * row.change.value,
            low=100 * row.change.low, high=100 * row.change.high, share=row.weight / total,
        )
        for row in page.told
        if row.change
    ]  # fmt: skip


def _mean(page: RestoredPage) -> Mean | None:
    if page.mean is None or page.pooled is None:
        return None
    ahead = page.pooled.prediction
    return Mean(
        change=100 * page.mean.value, low=100 * page.mean.low, high=100 * page.mean.high,
        ahead=(100 * ahead[0], 100 * ahead[1]) if ahead else None,
    )  # fmt: skip


def _cells(row: Restored) -> list[str]:
    return [
        *(harmless(name) for name in (row.unit_number, row.serial, row.depot, row.model)),
        row.day.isoformat(),
        row.means,
        row.side.replace("_", " "),
        length_text(row.beyond_mm, "mm", with_unit=False),
        str(row.months_before),
        str(row.months_after),
        str(row.controls),
        *_numbers(row.change.times(100) if row.change else None, 2),
        *_numbers(row.saved_litres, 0),
        row.reason,
    ]


def _numbers(amount: Amount | None, places: int) -> tuple[str, ...]:
    if amount is None:
        return "", "", ""
    return tuple(f"{value:.{places}f}" for value in (amount.value, amount.low, amount.high))
