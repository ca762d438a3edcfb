"""A frozen run as a workbook: the summary with native charts, then one tidy sheet per table."""

import io
from datetime import date, datetime
from math import ceil
from typing import Any

import xlsxwriter

from reports.export.frozen import SHADES, Chart, Column, Run, Table

# A format of the program's own: no text becomes a formula, a number or a link.
OPTIONS = {
    "in_memory": True, "strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False,
}  # fmt: skip
WIDEST, SHEET_NAME, CHART_ROWS, MOST_DRAWN = 48, 31, 18, 40
# The summary's one column in letters, and a line's height in points; the scale at which it fits upright A4.
BROAD, LINE_PT, PRINT_SCALE, A4 = 95, 15, 84, 9
CHARTS_A_PAGE = 3


def workbook(run: Run) -> bytes:
    """The file's bytes; the same run gives the same numbers, and with the same libraries the same bytes."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, OPTIONS)
    book.set_properties({"title": run.title, "created": datetime.fromisoformat(run.made_at).replace(tzinfo=None)})
    formats = _Formats(book)
    summary = book.add_worksheet("summary")
    sheets = [(table, _sheet(book, table, formats)) for table in run.tables]
    _summary(book, summary, run, [(table, name) for table, name in sheets if table.chart], formats)
    book.close()
    return out.getvalue()


class _Formats:
    """Formats by what a column holds, made once."""

    def __init__(self, book: Any) -> None:
        self.book = book
        self.head = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1, "bg_color": "#E8ECF1"}
        )
        self.title = book.add_format({"bold": True, "font_size": 16})
        self.text = book.add_format({"text_wrap": True, "valign": "top"})
        self.day = book.add_format({"num_format": "yyyy-mm-dd"})
        self._numbers: dict[str, Any] = {}

    def number(self, column: Column) -> Any:
        pattern = number_format(column)
        if pattern not in self._numbers:
            self._numbers[pattern] = self.book.add_format({"num_format": pattern})
        return self._numbers[pattern]


def number_format(column: Column) -> str:
    """Such as ``#,##0.000 "mm"``."""
    places = f".{'0' * column.places}" if column.places else ""
    unit = column.unit.replace('"', "")
    return f"#,##0{places}" + (f' "{unit}"' if unit else "")


def _sheet(book: Any, table: Table, formats: _Formats) -> str:
    name = table.name[:SHEET_NAME]
    sheet = book.add_worksheet(name)
    for j, column in enumerate(table.columns):
        sheet.write_string(0, j, column.label + (f" ({column.unit})" if column.unit else ""), formats.head)
        longest = max([len(row[j]) for row in table.rows[:500]] + [len(column.label) + 2])
        sheet.set_column(j, j, min(WIDEST, longest + len(column.unit) + 3))
    for i, row in enumerate(table.rows, start=1):
        for j, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
            _write(sheet, i, j, cell, column, formats)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(1, len(table.rows)), len(table.columns) - 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    return name


def _write(sheet: Any, i: int, j: int, cell: str, column: Column, formats: _Formats) -> None:
    if cell == "":
        return
    if column.kind == "number":
        sheet.write_number(i, j, float(cell), formats.number(column))
    elif column.kind == "day":
        sheet.write_datetime(i, j, datetime.combine(date.fromisoformat(cell), datetime.min.time()), formats.day)
    else:
        sheet.write_string(i, j, cell)


def _summary(book: Any, sheet: Any, run: Run, drawn: list[tuple[Table, str]], formats: _Formats) -> None:
    sheet.set_column(0, 0, BROAD)
    sheet.hide_gridlines(2)
    sheet.write_string(0, 0, run.title, formats.title)
    lines = (*run.sentences, "", *run.cautions, "", f"Run {run.number}, made {run.made_at}, code {run.code_version}.")
    for i, line in enumerate(lines, start=2):
        if line:
            # A program that sets no heights itself would write folded lines over one another.
            sheet.set_row(i, LINE_PT * ceil(len(line) / BROAD))
            sheet.write_string(i, 0, line, formats.text)
    tops: list[int] = []
    for table, name in drawn:
        chart = _chart(book, table, name)
        if chart is not None:
            tops.append(len(lines) + 3 + CHART_ROWS * len(tops))
            sheet.insert_chart(tops[-1], 0, chart, {"description": table.says, "x_scale": 1.5, "y_scale": 1.15})
    sheet.set_paper(A4)
    sheet.set_print_scale(PRINT_SCALE)
    sheet.set_h_pagebreaks(tops[1::CHARTS_A_PAGE])


def _chart(book: Any, table: Table, sheet: str) -> Any:
    """A native chart over the rows of the sheet that are drawn, which must stand together."""
    plan: Chart = table.chart  # type: ignore[assignment]
    rows = [i + 1 for i in table.drawn()]
    if not rows:
        return None
    first, last = rows[0], min(rows[0] + MOST_DRAWN - 1, rows[-1])
    chart = book.add_chart({"type": "column" if plan.kind == "bars" else "bar"})
    label = table.at(plan.label)
    for i, key in enumerate(plan.values[: 1 if plan.kind == "range" else None]):
        at = table.at(key)
        series: dict[str, Any] = {
            "name": table.columns[at].label,
            "categories": [sheet, first, label, last, label],
            "values": [sheet, first, at, last, at],
            "fill": {"color": SHADES[i % len(SHADES)]},
            "border": {"color": "#333333"},
        }
        if plan.kind == "range":
            series["x_error_bars"] = _errors(table, plan, first, last)
        chart.add_series(series)
    chart.set_title({"name": plan.title, "name_font": {"size": 12}})
    names = {"reverse": True, "label_position": "low"} if plan.kind == "range" else {"name": plan.axis}
    chart.set_y_axis(names)
    chart.set_x_axis({"name": plan.axis if plan.kind == "range" else ""})
    if len(plan.values) == 1 or plan.kind == "range":
        chart.set_legend({"none": True})
    return chart


def _errors(table: Table, plan: Chart, first: int, last: int) -> dict[str, Any]:
    value, low, high = (table.at(key) for key in plan.values)
    rows = table.rows[first - 1 : last]

    def arm(row: tuple[str, ...], end: int) -> float:
        return abs(float(row[end]) - float(row[value])) if row[end] and row[value] else 0.0

    return {
        "type": "custom",
        "plus_values": [arm(row, high) for row in rows],
        "minus_values": [arm(row, low) for row in rows],
    }
