"""The PDF of a frozen run: what was frozen, tagged, with words for every figure."""

import io
import re

import pytest
from pypdf import PdfReader

from reports.export.frozen import table
from reports.export.pdf import pdf_of
from tests.reviews import COLUMNS, small_run


@pytest.fixture(scope="module")
def paper() -> PdfReader:
    """The small run as PDF."""
    return PdfReader(io.BytesIO(pdf_of(small_run())))


def test_the_pdf_says_what_was_frozen_and_reads_no_text_as_markup(paper):
    text = "\n".join(page.extract_text() for page in paper.pages)
    assert "Reliability review of Saltmarsh, October 2026" in text
    assert "Two units stood outside." in text
    assert "#let x = 1" in text
    for number in ("1.499", "−0.250", "1,234,567"):
        assert number in text
    assert re.search(r"1\s+of\s+2", text)


def test_the_pdf_is_tagged_with_headings_and_tables_and_names_its_language(paper):
    """Source: ISO 14289-1 (PDF/UA-1), 7.1, 7.2, 7.4 and 7.5: tagged, language, title shown, headings, tables."""
    root = paper.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert str(root["/Lang"]).startswith("en")
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])
    tags = set(_tags(root["/StructTreeRoot"]))
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure"} <= tags
    assert b"pdfuaid" in root["/Metadata"].get_data()


def test_every_figure_of_the_pdf_has_words(paper):
    figures = [node for node in _nodes(paper.trailer["/Root"]["/StructTreeRoot"]) if node.get("/S") == "/Figure"]
    assert figures
    assert all(str(node.get("/Alt", "")) for node in figures)


def test_every_font_of_the_pdf_is_embedded(paper):
    fonts = [
        descendant.get_object()["/FontDescriptor"]
        for page in paper.pages
        for font in page["/Resources"].get("/Font", {}).values()
        for descendant in font.get_object().get("/DescendantFonts", [])
    ]
    assert fonts
    assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(font) for font in fonts)


def test_a_long_table_says_on_paper_where_the_rest_is():
    held = table("units", "Units", "Each unit.", COLUMNS[:1], [(f"unit {i}",) for i in range(75)])
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf_of(small_run(tables=(held,))))).pages)
    assert "The first 60 of 75 rows" in text
    assert "unit 59" in text
    assert "unit 60" not in text


def test_however_much_there_is_to_say_the_summary_stays_on_the_first_page():
    sentences = tuple(
        f"Sentence {i}: of 1,204 units 87 stood outside their window, 52 low and 35 high." for i in range(40)
    )
    pages = PdfReader(io.BytesIO(pdf_of(small_run(sentences=sentences)))).pages
    first, second = (" ".join(page.extract_text().split()) for page in pages[:2])
    assert all(f"Sentence {i}:" in first for i in range(40))
    assert "Frozen run 7" in first
    assert "Sentence" not in second
    assert f"1 of {len(pages)}" in first
    assert f"2 of {len(pages)}" in second


def _nodes(node):
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            yield from _nodes(child)
    elif isinstance(node, dict):
        yield node
        if "/K" in node:
            yield from _nodes(node["/K"])


def _tags(root):
    for node in _nodes(root):
        if "/S" in node:
            yield str(node["/S"])
