"""The files of a frozen run: what a program reads back is what was frozen, in each of them."""

import csv
import io
import zipfile
from itertools import combinations

import openpyxl
import pytest

from reports.export.csv import csv_files, zip_of
from reports.export.frozen import Column, freeze, grouped, table, text_of, thaw
from reports.export.pdf import pdf_of
from reports.export.plots import FACES
from reports.export.xlsx import number_format, workbook
from tests.reviews import COLUMNS, small_run


def test_a_run_comes_back_as_it_was_frozen():
    run = small_run()
    assert thaw(freeze(run)[0]) == run


def test_the_same_run_freezes_to_the_same_bytes():
    assert freeze(small_run()) == freeze(small_run())
    assert freeze(small_run())[1] != freeze(small_run(number=8))[1]


@pytest.mark.parametrize(
    ("value", "text"), [(1.49949, "1.499"), (-0.0004, "0.000"), (float("inf"), ""), (None, ""), (2, "2.000")]
)
def test_a_number_is_rounded_by_its_column(value, text):
    assert text_of(value, COLUMNS[2]) == text


def test_a_row_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="argument"):
        table("t", "T", "t", COLUMNS, [("one",)])


def test_the_same_run_gives_the_same_bytes_in_every_file():
    assert zip_of(small_run()) == zip_of(small_run())
    assert workbook(small_run()) == workbook(small_run())
    assert pdf_of(small_run()) == pdf_of(small_run())


def test_csv_follows_rfc_4180():
    """Source: RFC 4180, section 2: lines end with CRLF, cells with commas, quotes or line breaks stand in quotes."""
    plain = csv_files(small_run())["units.csv"]
    assert plain.startswith(b"name,seen_on,travel,low,high,litres\r\n")
    assert '"Łódź, ""quoted""\nline",,0.000,-0.100,0.100,\r\n'.encode() in plain
    assert plain.count(b"\r\n") == 4


def test_csv_days_are_iso_8601():
    rows = list(csv.DictReader(io.StringIO(csv_files(small_run())["units.csv"].decode())))
    assert rows[0]["seen_on"] == "2026-10-03"


def test_no_text_of_a_csv_is_run_as_a_formula_and_numbers_stay_numbers():
    """Source: OWASP, CSV injection: an apostrophe before a cell that begins with =, +, - or @."""
    files = csv_files(small_run())
    rows = list(csv.reader(io.StringIO(files["units.csv"].decode())))
    assert rows[1][0] == "'=SUM(A1)"
    assert rows[3][2] == "-0.250"
    assert list(csv.reader(io.StringIO(files["summary.csv"].decode())))[2][0].startswith("'=cmd")


def test_the_dictionary_explains_every_column_of_every_file():
    with zipfile.ZipFile(io.BytesIO(zip_of(small_run()))) as archive:
        files = {name: archive.read(name).decode() for name in archive.namelist()}
    told = {(row["table"], row["column"]): row for row in csv.DictReader(io.StringIO(files["dictionary.csv"]))}
    for name, text in files.items():
        if name != "dictionary.csv":
            for column in next(csv.reader(io.StringIO(text))):
                assert told[name.removesuffix(".csv"), column]["meaning"]
    assert (told["units", "travel"]["unit"], told["units", "travel"]["decimals"]) == ("mm", "3")


def test_the_workbook_reads_back_with_values_formats_filters_and_frozen_heads():
    book = openpyxl.load_workbook(io.BytesIO(workbook(small_run())))
    assert book.sheetnames == ["summary", "units"]
    sheet = book["units"]
    assert [cell.value for cell in sheet[2]][:1] == ["=SUM(A1)"]
    assert sheet["A2"].data_type == "s"  # a text, not a formula
    assert sheet["B2"].value.date().isoformat() == "2026-10-03"
    assert (sheet["C2"].value, sheet["C2"].number_format) == (1.499, '#,##0.000 "mm"')
    assert sheet["F3"].value is None
    assert sheet.freeze_panes == "B2"
    assert sheet.auto_filter.ref == "A1:F4"


def test_the_summary_sheet_has_the_sentences_as_text_and_a_native_chart():
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(small_run())))["summary"]
    values = [row[0].value for row in sheet.iter_rows(max_col=1)]
    assert "=cmd|' /C calc'!A0" in values
    assert all(row[0].data_type in "sn" for row in sheet.iter_rows(max_col=1))
    with zipfile.ZipFile(io.BytesIO(workbook(small_run()))) as parts:
        assert "xl/charts/chart1.xml" in parts.namelist()


def test_grey_alone_tells_the_faces_of_a_chart_apart():
    """Grey of a print by ITU-R BT.601 (from memory): 0.299 R + 0.587 G + 0.114 B; and each has hatching of its own."""
    greys = []
    for face, _ in FACES:
        red, green, blue = (int(face[i : i + 2], 16) for i in (1, 3, 5))
        greys.append((0.299 * red + 0.587 * green + 0.114 * blue) / 255)
    assert len({hatch for _, hatch in FACES}) == len(FACES)
    assert min(abs(a - b) for a, b in combinations(greys, 2)) > 0.15


def test_a_unit_stands_in_the_number_format():
    assert number_format(Column("a", "a", "a", "number", "%", 1)) == '#,##0.0 "%"'
    assert number_format(Column("a", "a", "a", "number")) == "#,##0"


@pytest.mark.parametrize(
    ("cell", "shown"), [("1234567", "1,234,567"), ("-0.250", "−0.250"), ("-1234.5", "−1,234.5"), ("", "")]
)
def test_paper_sets_thousands_apart_and_keeps_every_digit(cell, shown):
    assert grouped(cell, COLUMNS[2]) == shown
