"""Complaints from files."""

import io
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from django.conf import settings
from openpyxl import Workbook

from fleet.imports import source
from fleet.imports.formats import format_named
from fleet.imports.staging import go_ahead, stage
from fleet.imports.trial import run_trial
from fleet.models import Complaint
from fleet.problems import FleetError
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
FILE = Path(settings.BASE_DIR) / "fixtures" / "imports" / "complaints.csv"
HEADING = "unit_number,kind,raised_on,raised_by,text,finding,closed_on\n"


@pytest.fixture
def trucks(crew):
    return [TruckFactory(depot=crew.depot, unit_number=number) for number in ("501", "502")]


def bring(crew, content, name="c.csv"):
    waiting = stage(user=crew.manager, kind="complaints", name=name, content=content)
    go_ahead(user=crew.manager, key=waiting.key)
    return waiting.tally


def verdicts(crew, lines):
    trial = run_trial(user=crew.manager, kind=format_named("complaints"), content=(HEADING + lines).encode())
    return [(line.code or line.verdict, line.field) for line in trial.verdicts]


def test_complaints_are_brought_in_once(crew, trucks):
    assert bring(crew, FILE.read_bytes()) == {"new": 3, "change": 0, "same": 0, "refused": 0}
    assert bring(crew, FILE.read_bytes()) == {"new": 0, "change": 0, "same": 3, "refused": 0}
    assert list(Complaint.objects.order_by("raised_on").values_list("kind", "closed_on", "recorded_by")) == [
        ("fuel_economy", None, crew.manager.pk),
        ("smoke", date(2024, 3, 9), crew.manager.pk),
        ("noise", None, crew.manager.pk),
    ]
    assert Complaint.history.filter(history_user=crew.manager).count() == 3


def test_a_later_file_closes_what_an_earlier_one_opened(crew, trucks):
    bring(crew, (HEADING + "501,smoke,2024-01-02,driver,,,\n").encode())
    tally = bring(crew, (HEADING + "501,smoke,2024-01-02,driver,,Filter,2024-01-05\n").encode())
    assert tally["change"] == 1
    assert Complaint.objects.get().finding == "Filter"
    again = "501,smoke,2024-01-02,driver,,Pump,2024-01-06\n"
    assert verdicts(crew, again) == [("complaint_closed", "closed_on")]


def test_each_wrong_line_says_why_at_its_column(crew, trucks):
    lines = [
        "999,smoke,2024-01-02,driver,,,",
        "501,colour,2024-01-02,driver,,,",
        "501,,2024-01-02,driver,,,",
        "501,smoke,soon,driver,,,",
        "501,smoke,2999-01-02,driver,,,",
        "501,smoke,2024-01-02,,,,",
        "501,smoke,2024-01-02,driver,,,2024-01-05",
        "501,smoke,2024-01-02,driver,,Filter,2024-01-01",
        "501,smoke,2024-01-02,driver,,Filter,",
        "501,smoke,2024-01-02,driver,=cmd,,",
    ]
    assert verdicts(crew, "\n".join(lines)) == [
        ("unknown_truck", "unit_number"),
        ("word_unknown", "kind"),
        ("cell_blank", "kind"),
        ("day_unknown", "raised_on"),
        ("in_the_future", "raised_on"),
        ("cell_blank", "raised_by"),
        ("complaint_closed_with_finding", "finding"),
        ("complaint_closed_after_raised", "closed_on"),
        ("finding_without_day", "closed_on"),
        ("cell_not_plain", "text"),
    ]


def test_a_truck_of_another_depot_is_refused(crew, trucks):
    other = TruckFactory()
    assert verdicts(crew, f"{other.unit_number},smoke,2024-01-02,driver,,,\n") == [("other_depot", "unit_number")]


def test_a_workbook_is_read_like_its_csv(crew, trucks):
    book = Workbook()
    book.active.append(["truck", "complaint", "raised", "driver", "words", None])
    book.active.append([501, "Fuel economy", date(2024, 2, 1), "night driver", "Drinks,\nas never before", None])
    book.create_sheet("other").append(["nothing"])
    out = io.BytesIO()
    book.save(out)
    assert bring(crew, out.getvalue(), "c.xlsx")["new"] == 1
    row = Complaint.objects.get()
    assert (row.truck.unit_number, row.raised_on, row.text) == ("501", date(2024, 2, 1), "Drinks, as never before")


def test_a_workbook_of_which_rows_are_blank_names_its_lines_as_its_rows_are_numbered(crew, trucks):
    book, out = Workbook(), io.BytesIO()
    for row in (["truck", "complaint", "raised", "driver"], [], [], [501, "Fuel economy", "some day", "driver"]):
        book.active.append(row)
    book.save(out)
    trial = run_trial(user=crew.manager, kind=format_named("complaints"), content=out.getvalue())
    assert [(line.number, line.verdict) for line in trial.verdicts] == [(4, "refused")]


def test_a_workbook_that_swells_is_refused_unread(crew, trucks, monkeypatch):
    monkeypatch.setattr(source, "WORKBOOK", replace(source.WORKBOOK, unpacked=1000))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/worksheets/sheet1.xml", b"0" * 5000)
    with pytest.raises(FleetError) as caught:
        run_trial(user=crew.manager, kind=format_named("complaints"), content=out.getvalue())
    assert (caught.value.code, caught.value.field) == ("file_too_large", "file")
