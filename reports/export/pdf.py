"""A frozen run as PDF: tagged (PDF/UA-1), fonts embedded, the summary on the first page, then a section a table."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import matplotlib
import typst

from reports.export.frozen import Run, Table, freeze, grouped
from reports.export.plots import plot, plot_words

TEMPLATE = Path(__file__).with_name("review.typ")
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
# A longer table is read in the workbook and the CSV files.
MOST_ROWS = 60
# Charts of the first page.
ON_FRONT = 2
WIDE = 40


def pdf_of(run: Run) -> bytes:
    """The file's bytes."""
    content: bytes = typst.compile(  # type: ignore[misc]
        TEMPLATE.read_bytes(),
        font_paths=[str(FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"run": json.dumps(_plain(run), ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=int(datetime.fromisoformat(run.made_at).timestamp()),
    )
    return content


def _plain(run: Run) -> dict[str, Any]:
    tables, drawn = [], 0
    for table in run.tables:
        picture = plot(table)
        tables.append(_table(table, picture, again=drawn >= ON_FRONT))
        drawn += bool(picture)
    return {
        "number": run.number, "title": run.title, "made_at": run.made_at, "code_version": run.code_version,
        "sentences": run.sentences, "cautions": run.cautions, "digest": freeze(run)[1], "tables": tables,
    }  # fmt: skip


def _table(table: Table, picture: str, *, again: bool) -> dict[str, Any]:
    shown = replace(table, rows=table.rows[:MOST_ROWS])
    more = len(table.rows) - len(shown.rows)
    longest = [max([len(row[j]) for row in shown.rows], default=0) for j in range(len(table.columns))]
    return {
        "title": table.title,
        "says": table.says,
        "note": table.note,
        "columns": [
            {"label": column.label, "unit": column.unit, "number": column.kind == "number", "wide": longest[j] > WIDE}
            for j, column in enumerate(table.columns)
        ],
        "rows": [
            [grouped(cell, column) for cell, column in zip(row, table.columns, strict=True)] for row in shown.rows
        ],
        "left_off": f"The first {MOST_ROWS} of {len(table.rows):,} rows; the workbook and the CSV files have all."
        if more > 0
        else "",
        "picture": picture,
        "picture_alt": plot_words(table),
        "again": again,
    }
