"""A run is frozen once with its files, which are the same again at any time, and told to those it is for."""

import io
import re
import uuid
import zipfile
from datetime import UTC, datetime

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse
from openpyxl.utils import get_column_letter
from pypdf import PdfReader

from fleet.jobs.tasks import run_job
from fleet.models import Job
from fleet.problems import FleetError
from reports.export.csv import csv_files, zip_of
from reports.export.frozen import grouped, thaw
from reports.export.pdf import pdf_of
from reports.export.xlsx import number_format, workbook
from reports.models import Review, ReviewFile
from reports.selectors.reviews import review_rows
from reports.services.review import ask_review, keep_frozen
from tests.bay import make_bay, person
from tests.reviews import MARCH, kept_review, small_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def made(director) -> Review:
    """The fleet's review of the month written by hand."""
    review = ask_review(user=director, month=MARCH, depot=None, key=uuid.uuid4())
    run_job(review.job_id)
    review.refresh_from_db()
    return review


def file_of(review: Review, kind: str) -> bytes:
    return bytes(review.files.get(kind=kind).content)


def test_a_run_is_frozen_with_its_three_files_and_all_say_the_same(made, march, looked):
    run = thaw(bytes(made.frozen))
    assert (made.job.state, made.job.done_count) == (Job.State.DONE, made.job.total_count)
    book = openpyxl.load_workbook(io.BytesIO(file_of(made, "xlsx")))
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(file_of(made, "pdf"))).pages).split())
    with zipfile.ZipFile(io.BytesIO(file_of(made, "zip"))) as archive:
        held = {name: archive.read(name) for name in archive.namelist()}
    assert held == csv_files(run)
    for table in run.tables:
        sheet = book[table.name[:31]]
        for row, cells in zip(table.rows, sheet.iter_rows(min_row=2, max_row=1 + len(table.rows)), strict=True):
            for text_cell, cell, column in zip(row, cells, table.columns, strict=True):
                if column.kind == "number" and text_cell:
                    assert f"{cell.value:.{column.places}f}" == text_cell
                    assert grouped(text_cell, column) in text
    # The records go on; what is made again from the frozen run stays the same, byte by byte.
    looked(march["stays"], "03-30", "95")
    again = thaw(bytes(Review.objects.get(pk=made.pk).frozen))
    assert zip_of(again) == file_of(made, "zip")
    assert (workbook(again), pdf_of(again)) == (file_of(made, "xlsx"), file_of(made, "pdf"))


def test_every_sheet_of_the_workbook_can_be_sorted_and_read_and_the_summary_has_its_charts(made):
    run = thaw(bytes(made.frozen))
    book = openpyxl.load_workbook(io.BytesIO(file_of(made, "xlsx")))
    assert book.sheetnames == ["summary", *(table.name[:31] for table in run.tables)]
    for table in run.tables:
        sheet = book[table.name[:31]]
        last = f"{get_column_letter(len(table.columns))}{max(2, 1 + len(table.rows))}"
        assert (sheet.freeze_panes, sheet.auto_filter.ref) == ("B2", f"A1:{last}"), table.name
        for j, column in enumerate(table.columns, start=1):
            assert sheet.cell(1, j).value == column.label + (f" ({column.unit})" if column.unit else "")
            for i, row in enumerate(table.rows, start=2):
                if column.kind == "number" and row[j - 1]:
                    assert sheet.cell(i, j).number_format == number_format(column)
                elif column.kind == "day" and row[j - 1]:
                    assert sheet.cell(i, j).number_format == "yyyy-mm-dd"
    with zipfile.ZipFile(io.BytesIO(file_of(made, "xlsx"))) as parts:
        charts = [name for name in parts.namelist() if re.fullmatch(r"xl/charts/chart\d+\.xml", name)]
    assert len(charts) == sum(bool(table.chart and table.drawn()) for table in run.tables) >= 3


def numbers_of(review: Review) -> tuple[list[object], list[str]]:
    """Every cell of the workbook's tables, and every number of the PDF's tables."""
    book = openpyxl.load_workbook(io.BytesIO(file_of(review, "xlsx")))
    cells = [[[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book if sheet.title != "summary"]
    head = re.compile(rf"run {review.pk}, made [-0-9]+")
    pages = [head.sub("", page.extract_text()) for page in PdfReader(io.BytesIO(file_of(review, "pdf"))).pages[1:]]
    return cells, re.findall(r"[\d.,]*\d", " ".join(pages))


def test_two_runs_of_unchanged_records_give_identical_csv_bytes_and_identical_numbers(made, director):
    other = ask_review(user=director, month=MARCH, depot=None, key=uuid.uuid4())
    run_job(other.job_id)
    assert other.pk != made.pk
    assert file_of(other, "zip") == file_of(made, "zip")
    assert len(numbers_of(made)[1]) > 100
    assert numbers_of(other) == numbers_of(made)


def test_a_worker_that_died_after_freezing_goes_on_with_the_files_that_lack(made, march, looked):
    digest, first = made.digest, file_of(made, "zip")
    ReviewFile.objects.filter(review=made).exclude(kind="xlsx").delete()
    looked(march["stays"], "03-30", "95")
    Job.objects.filter(pk=made.job_id).update(state=Job.State.QUEUED, finished_at=None)
    run_job(made.job_id)
    made.refresh_from_db()
    assert made.digest == digest
    assert file_of(made, "zip") == first


def test_a_frozen_run_is_never_frozen_again(made):
    with pytest.raises(FleetError) as refused:
        keep_frozen(review=made, run=small_run(), at=datetime.now(UTC))
    assert refused.value.code == "review_is_frozen"


def test_a_viewer_reads_the_reviews_of_the_own_depot_alone():
    bay, other = make_bay(), make_bay()
    own, foreign, fleet = (kept_review(depot, bay.manager) for depot in (bay.depot, other.depot, None))
    assert [row.pk for row in review_rows(bay.viewer)] == [own.pk]
    client = Client()
    client.force_login(bay.viewer)
    for review, status in ((own, 200), (foreign, 404), (fleet, 404)):
        assert client.get(reverse("reports:review", args=[review.pk])).status_code == status
        assert client.get(reverse("reports:review_file", args=[review.pk, "zip"])).status_code == status
    person_of_all = person(bay.depot, "viewer")
    person_of_all.memberships.create(depot=other.depot, role="viewer")
    assert {row.pk for row in review_rows(person_of_all)} == {own.pk, foreign.pk, fleet.pk}


def test_a_file_is_taken_away_under_a_name_that_says_what_it_is():
    bay = make_bay()
    review = kept_review(bay.depot, bay.manager)
    client = Client()
    client.force_login(bay.viewer)
    answer = client.get(reverse("reports:review_file", args=[review.pk, "xlsx"]))
    assert f'filename="review-2026-10-{bay.depot.code.lower()}-{review.pk}.xlsx"' in answer["Content-Disposition"]
    assert answer.content == file_of(review, "xlsx")
    assert client.get(reverse("reports:review_file", args=[review.pk, "doc"])).status_code == 404
