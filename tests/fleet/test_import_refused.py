"""Lines and files of the register that are refused, and why."""

import pytest

from fleet.imports.formats import FORMATS, format_named
from fleet.imports.report import refused_rows
from fleet.imports.staging import stage, staged
from fleet.imports.trial import run_trial
from fleet.models import Truck
from fleet.problems import FleetError
from tests.fleet.brought_in import bring_in

pytestmark = pytest.mark.django_db


def test_each_refused_line_says_why_and_the_others_go_ahead(crew):
    done = bring_in(crew, "register_broken.csv")
    refused = {
        line.original.split(",")[0]: (line.code, line.field) for line in done.verdicts if line.verdict == "refused"
    }
    assert refused == {
        "401": ("vin_check_digit", "vin"),
        "402": ("depot_unknown", "depot"),
        "403": ("day_unknown", "in_service_on"),
        "404": ("position_not_on_engine", "position"),
        "405": ("cell_not_plain", "serial"),
        "406": ("number_unclear", "odometer"),
        "408": ("other_place", "engine_serial"),
        "409": ("in_the_future", "received_on"),
        "410": ("cells_miscounted", ""),
    }
    assert list(Truck.objects.values_list("unit_number", flat=True)) == ["407"]


def test_refused_lines_come_back_as_a_harmless_file(crew):
    content = b"unit_number,depot,in_service_on\n=cmd,SALT,2024-01-01\n"
    waiting = stage(user=crew.manager, kind="trucks", name="t.csv", content=content)
    assert [row[2] for row in refused_rows(staged(crew.manager, waiting.key))] == ["'=cmd,SALT,2024-01-01"]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "file_empty"),
        (b" \n\n", "file_empty"),
        (b"unit_number,depot\n", "file_without_lines"),
        (b"place,when\nhere,now\n", "columns_missing"),
        (b"unit_number,unit\n1,2\n", "column_twice"),
        (b"PK\x03\x04rest of a workbook", "workbook_unreadable"),
        (b"\xd0\xcf\x11\xe0rest of an old workbook", "not_text"),
        (b"unit_number,depot\n\x00\x01,x\n", "not_text"),
        (b"unit_number,depot\n" + b"a,b\n" * 20_001, "too_many_lines"),
    ],
)
def test_a_file_of_which_no_line_can_be_read_is_refused_whole(crew, content, code):
    with pytest.raises(FleetError) as caught:
        run_trial(user=crew.manager, kind=format_named("trucks"), content=content)
    assert (caught.value.code, caught.value.field) == (code, "file")


def test_a_heading_that_names_nothing_is_told_what_it_may_be_called(crew):
    names = b"Fleet no.,Yard" + b",more" * 13
    with pytest.raises(FleetError) as caught:
        run_trial(user=crew.manager, kind=format_named("trucks"), content=names + b"\n" + b"1," * 14 + b"1\n")
    assert "is one of: unit_number or " in caught.value.sentence
    assert caught.value.sentence.endswith("more, more and 3 more.")


def test_columns_that_mean_nothing_are_named_with_what_to_do(crew):
    content = b"unit_number,depot,in_service_on,Chassis\n1,SALT,2024-01-01,x\n"
    [told] = run_trial(user=crew.manager, kind=format_named("trucks"), content=content).notices
    assert told.startswith("Columns that are not used: Chassis. Where one of them holds something, rename it")


def test_a_huge_cell_or_an_open_quotation_mark_refuses_its_line(crew):
    content = b'unit_number,depot,in_service_on\n1,"SALT,2024-01-01\n2,SALT,2024-01-01\n' + b"x" * 600
    trial = run_trial(user=crew.manager, kind=format_named("trucks"), content=content)
    assert [line.verdict for line in trial.verdicts] == ["refused"]


@pytest.mark.parametrize("kind", FORMATS, ids=lambda kind: kind.name)
def test_no_heading_means_two_columns(kind):
    headings = [name for column in kind.columns for name in column.headings()]
    assert len(headings) == len(set(headings))
