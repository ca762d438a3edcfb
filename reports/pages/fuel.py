"""The page of fuel, and its ranking as a file."""

from typing import Any

from django.http import HttpResponse, QueryDict, StreamingHttpResponse
from django.shortcuts import render
from django.views import View

from checks.display import length_text
from checks.selectors.fuel import Amount
from fleet.imports.report import harmless
from fleet.web.access import PersonRequest, ViewerView
from fleet.web.files import csv_answer, csv_lines
from fleet.web.query import number_in
from reports.charts.fuel import fuel_figure
from reports.pages.fuel_method import group_lines, method_facts, point_lines
from reports.pages.fuel_table import loss_lines, period_lines
from reports.pages.thirsty import thirsty_context
from reports.selectors.fuel import PERIODS, LossRow, Wanted, fuel_page, loss_rows
from reports.selectors.thirst import thirsty_trucks
from reports.sentences.fuel import cost_sentence, fuel_sentence, uncounted_sentence
from reports.words.fuel import month_text

COLUMNS = (
    "unit", "serial number", "depot", "model", "last month", "below window mm", "above window mm",
    "of the larger, standard deviation mm",
    "effect %", "effect low %", "effect high %", "litres", "litres low", "litres high",
    "kg CO2", "kg CO2 low", "kg CO2 high", "money", "money low", "money high", "currency",
)  # fmt: skip


class FuelView(ViewerView, View):
    """What travel outside its window costs in fuel."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page."""
        wanted = wanted_from(request.GET)
        page = fuel_page(user=request.user, wanted=wanted)
        context: dict[str, Any] = {
            "page": page,
            "wanted": wanted,
            "periods": PERIODS,
            "sentence": fuel_sentence(page, request.user.length_unit),
            "cost": cost_sentence(page),
            "first": wanted.address() if wanted.after else "",
            "next": wanted.address(after=page.next_mark) if page.next_mark else "",
            "file": wanted.address(),
        }
        if page.fit:
            unit = request.user.length_unit
            points = page.fit.picture["points"]
            context |= {
                "figure": fuel_figure(points, page.effects, unit),
                "points": point_lines(points, unit),
                "costs": period_lines(page.costs),
                "uncounted": uncounted_sentence(page),
                **thirsty_context(thirsty_trucks(request.user, page.fit, depot=wanted.depot), unit),
                "groups": group_lines(page, unit),
                "lines": loss_lines(page.rows, unit),
                "facts": method_facts(page, page.fit, unit),
                "priced": any(cost.money for cost in page.costs.values()),
            }
        return render(request, "reports/fuel.html", context)


class FuelFileView(ViewerView, View):
    """The whole ranking as CSV, row by row."""

    costly = ("GET",)

    def get(self, request: PersonRequest) -> StreamingHttpResponse:
        """Answer with the file."""
        wanted = wanted_from(request.GET)
        rows = map(_cells, loss_rows(user=request.user, wanted=wanted))
        return csv_answer(f"fuel-{wanted.period}.csv", csv_lines(COLUMNS, rows))


def wanted_from(query: QueryDict) -> Wanted:
    """Read what is asked for; what cannot be read is as if not given."""
    period = query.get("period", "")
    return Wanted(
        depot=number_in(query.get("depot", "")),
        model=number_in(query.get("model", "")),
        period=period if period in PERIODS else "year",
        after=query.get("after", "")[:200],
    )


def _cells(row: LossRow) -> list[str]:
    names = (row.unit_number, row.serial, row.depot, row.model)
    return [
        *(harmless(name) for name in names),
        month_text(row.month),
        length_text(row.shortfall_mm, "mm", with_unit=False),
        length_text(row.excess_mm, "mm", with_unit=False),
        length_text(row.travel_sd_mm, "mm", with_unit=False),
        *_numbers(row.effect.times(100), 2),
        *_numbers(row.litres, 1),
        *_numbers(row.co2_kg, 1),
        *(_numbers(row.money, 2) if row.money else ("", "", "")),
        row.currency if row.money else "",
    ]


def _numbers(amount: Amount, places: int) -> tuple[str, ...]:
    return tuple(f"{value:.{places}f}" for value in (amount.value, amount.low, amount.high))
