"""A review's workbook and CSV files opened by LibreOffice, which is not ours: it reads what was frozen.

Needs ``soffice`` (Debian: libreoffice-calc), which .ci/run installs.
"""

import csv
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pypdf import PdfReader

from reports.export.csv import csv_files
from reports.export.frozen import Run, table
from reports.export.xlsx import workbook
from reports.review.records import read_records
from reports.review.tables import run_of, tables_of
from tests.reviews import COLUMNS, DAY, MARCH, small_run

OFFICE = shutil.which("soffice")
pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(OFFICE is None, reason="soffice is not installed (Debian: apt install libreoffice-calc)"),
]
# Comma, quotes, UTF-8, from the first line; then as quoted text no, special numbers yes, cells as shown or as they
# are, formulas no, spaces kept, every sheet (LibreOffice help, "CSV filter parameters").
SHEETS = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,{shown},false,false,-1"
# Texts that a spreadsheet program may run: OWASP, CSV injection.
TRAPS = ("=1+1", "+1+1", "-1+1", "@SUM(1;1)", '=HYPERLINK("http://x.example";"y")', "=cmd|' /C calc'!A0", "\t=1+1")

Convert = Callable[[Path, str], Path]


@pytest.fixture
def convert(tmp_path: Path) -> Convert:
    """Return a function that lets the program turn a file into others; it gives the folder with them."""

    def run(file: Path, into: str) -> Path:
        out = tmp_path / "out" / str(len(list(tmp_path.glob("out/*"))))
        profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
        command = [str(OFFICE), profile, "--headless", "--convert-to", into, "--outdir", str(out), str(file)]
        subprocess.run(command, check=True, capture_output=True, timeout=180)
        return out

    return run


@pytest.fixture
def run(march: object) -> Run:
    """The month written by hand, with a table of traps."""
    traps = table("traps", "Traps", "Texts.", COLUMNS, [(text, DAY, 1.49949, -0.25, None, 1234567) for text in TRAPS])
    records = read_records(MARCH, None)
    whole = run_of(records, list(tables_of(records)), number=7, made_at=datetime(2025, 4, 1, tzinfo=UTC))
    return replace(whole, tables=(*whole.tables, traps))


def cells_of(file: Path) -> list[list[str]]:
    with file.open(newline="", encoding="utf-8") as lines:
        return list(csv.reader(lines))


def test_every_cell_of_every_sheet_is_the_frozen_text(run: Run, convert: Convert, tmp_path: Path) -> None:
    file = tmp_path / "review.xlsx"
    file.write_bytes(workbook(run))
    plain, shown = (convert(file, SHEETS.format(shown=word)) for word in ("false", "true"))
    for held in run.tables:
        name = f"review-{held.name[:31]}.csv"
        sheet, printed = cells_of(plain / name), cells_of(shown / name)
        assert len(sheet) == 1 + len(held.rows), held.name
        for row, cells, texts in zip(held.rows, sheet[1:], printed[1:], strict=True):
            for said, cell, text, column in zip(row, cells, texts, held.columns, strict=True):
                if column.kind == "number" and said:
                    assert f"{float(cell):.{column.places}f}" == said, (held.name, column.key)
                    assert text == f"{float(said):,.{column.places}f}" + (f" {column.unit}" if column.unit else "")
                else:
                    assert cell == text == said, (held.name, column.key)


def test_the_summary_is_read_with_its_charts(run: Run, convert: Convert, tmp_path: Path) -> None:
    file = tmp_path / "review.xlsx"
    file.write_bytes(workbook(replace(run, sentences=(*run.sentences, *TRAPS))))
    cells = [row[0] for row in cells_of(convert(file, SHEETS.format(shown="true")) / "review-summary.csv") if row]
    assert cells[0] == run.title
    assert [text for text in cells if text in (*run.sentences, *TRAPS)] == [*run.sentences, *TRAPS]
    paper = PdfReader(convert(file, "pdf") / "review.pdf")
    text = " ".join(" ".join(page.extract_text() for page in paper.pages[:6]).split())
    drawn = [held.chart.title for held in run.tables if held.chart and held.drawn() and held.rows]
    assert len(drawn) >= 3
    assert [title for title in drawn if title not in text] == []


def test_a_csv_file_that_is_opened_runs_nothing(convert: Convert, tmp_path: Path) -> None:
    rows = [(text, DAY, 1.5, -0.25, None, 2) for text in TRAPS]
    run = small_run(tables=(table("units", "Units", "Each unit.", COLUMNS, rows),))
    file = tmp_path / "units.csv"
    file.write_bytes(csv_files(run)["units.csv"])
    read = cells_of(convert(file, "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false") / "units.csv")
    assert [row[0] for row in read[1:]] == [f"'{text}" for text in TRAPS]
    assert {row[3] for row in read[1:]} == {"-0.25"}
