"""Workbooks, Parquet and whatever else is sent: read, or refused with a sentence."""

import io
import os
import time
import uuid
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from pyarrow import parquet

from fleet.imports import kept, workbook
from fleet.imports.trips import staging
from fleet.imports.trips.manner import Manner
from fleet.imports.trips.preview import preview
from fleet.imports.trips.sending import begin_import
from fleet.models import Trip, TripImport
from fleet.problems import FleetError
from tests.fleet.trips.trip_lines import HEADING

pytestmark = pytest.mark.django_db
LINE = "T1,2025-03-14 08:30,1,80,25"


def parquet_of(**columns) -> bytes:
    out = io.BytesIO()
    parquet.write_table(pa.table(columns), out)
    return out.getvalue()


def workbook_of(*rows) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(out)
    return out.getvalue()


def swollen(name: str, size: int) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts, parts.open(name, "w", force_zip64=True) as part:
        for _ in range(size >> 20):
            part.write(bytes(1 << 20))
    return out.getvalue()


def refusal_of(user, content: bytes) -> FleetError:
    with pytest.raises(FleetError) as caught:
        begin_import(user=user, source="Feed", name="trips", upload=io.BytesIO(content))
    return caught.value


def test_parquet_is_read_with_its_zones_categories_and_nulls(bring):
    starts = [
        datetime(2025, 3, 14, 8, 30, tzinfo=timezone(timedelta(hours=1))),
        datetime(2025, 3, 15, 8, 30, tzinfo=UTC),
    ]
    table = {
        "truck": pa.array(["T1", "T1"]).dictionary_encode(),
        "start": pa.array(starts, pa.timestamp("ns", "Europe/Berlin")),
        "duration_s": pa.array([5400, 3600], pa.int32()),
        "distance_km": pa.array([100.1, 80], pa.float64()),
        "fuel_l": pa.array([33.3, 25], pa.float64()),
        "payload_t": pa.array([None, 12.5], pa.float64()),
        "note": pa.array(["first\nsecond", 'a "word", more']),
        "points": pa.array([[1, 2], []], pa.list_(pa.int64())),
    }
    done = bring(parquet_of(**table))
    assert (done.lines, done.accepted) == (2, 2)
    assert list(Trip.objects.order_by("started_s").values_list("started_s", "distance_km", "fuel_l", "payload_t")) == [
        (int(starts[0].timestamp()), 100.1, 33.3, None),
        (int(starts[1].timestamp()), 80, 25, 12.5),
    ]
    assert bring(parquet_of(**table)).changed == 0


def test_a_workbook_and_its_csv_say_the_same(bring):
    day = datetime(2025, 3, 14, 8, 30)  # noqa: DTZ001 a workbook knows no zones
    bring(workbook_of(HEADING.split(","), ["T1", day, 1.5, 100.1, 33.3], [], ["T1", day.replace(day=15), 1, 80, 25]))
    again = bring("\n".join((HEADING, "T1,2025-03-14 08:30:00,1.5,100.1,33.3", "", "T1,2025-03-15 08:30:00,1,80,25")))
    assert (again.accepted, again.new, again.changed) == (2, 0, 0)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "file_empty"),
        (b" \r\n\n \n", "file_empty"),
        (HEADING.encode() + b"\n\n", "file_without_lines"),
        (b"\x00\x01\x02", "not_text"),
        (f"{HEADING}\n{LINE}".encode("utf-16-le"), "not_text"),
        (b"x" * 30_000, "line_too_long"),
        (HEADING.encode() + b"\n" + b"x" * (10 << 20), "line_too_long"),
        (b"PK\x03\x04broken", "workbook_unreadable"),
        (b"PAR1", "parquet_unreadable"),
        (b"PAR1" + bytes(100) + b"PAR1", "parquet_unreadable"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "not_text"),
    ],
)
def test_what_is_no_table_of_trips_is_refused_with_a_sentence_and_leaves_nothing(crew, content, code):
    before = set(kept.folder_of("trips", uuid.uuid4()).parent.glob("*"))
    refusal = refusal_of(crew.manager, content)
    assert (refusal.code, refusal.field, refusal.sentence[-1]) == (code, "file", ".")
    assert set(kept.folder_of("trips", uuid.uuid4()).parent.glob("*")) == before
    assert not TripImport.objects.exists()


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("xl/worksheets/sheet1.xml", "file_too_large"),
        ("xl/sharedStrings.xml", "file_too_large"),
        ("x.txt", "workbook_unreadable"),
    ],
)
def test_a_small_zip_that_swells_is_refused_before_it_is_unpacked(crew, monkeypatch, name, code):
    monkeypatch.setattr(staging, "WORKBOOK", replace(staging.WORKBOOK, unpacked=10 << 20))
    monkeypatch.setattr(workbook, "MOST_SHARED_TEXTS", 2 << 20)
    content = swollen(name, {"xl/worksheets/sheet1.xml": 20 << 20, "xl/sharedStrings.xml": 5 << 20}.get(name, 1 << 20))
    assert len(content) < 50_000
    assert refusal_of(crew.manager, content).code == code


def test_a_sheet_of_too_many_rows_is_refused(crew, monkeypatch):
    monkeypatch.setattr(staging, "WORKBOOK", replace(staging.WORKBOOK, rows=3))
    refusal = refusal_of(crew.manager, workbook_of(HEADING.split(","), *([LINE.split(",")] * 5)))
    assert refusal.code == "too_many_lines"


def test_a_sheet_that_claims_to_be_huge_is_read_as_it_is(bring):
    content, out = workbook_of(HEADING.split(","), LINE.split(",")), io.BytesIO()
    assert load_workbook(io.BytesIO(content)).active.max_row == 2
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.infolist():
            new.writestr(part, old.read(part).replace(b'ref="A1:E2"', b'ref="A1:XFD1048576"'))
    began = time.process_time()
    assert bring(out.getvalue()).accepted == 1
    assert time.process_time() - began < 5


def test_mixed_line_ends_and_a_missing_last_one_are_read(bring):
    rows = [f"T1,2025-03-{day} 08:30,1,80,25" for day in (14, 15, 16)]
    assert bring(f"{HEADING}\r\n{rows[0]}\n{rows[1]}\r{rows[2]}").accepted == 3


def test_a_line_break_within_a_cell_refuses_only_its_lines(bring):
    done = bring(f'{HEADING},note\n{LINE},"one\ntwo"\nT1,2025-04-14 08:30,1,80,25,three\n')
    assert (done.lines, done.accepted) == (3, 1)
    assert all("line break inside a cell" in line for line in done.report)


def test_a_heading_that_stands_twice_is_told(crew, truck):
    content = f"{HEADING},fuel_l\n{LINE},25\n".encode()
    sent = begin_import(user=crew.manager, source="Feed", name="trips", upload=io.BytesIO(content))
    assert "Two columns are headed 'fuel_l'" in preview(crew.manager, sent, Manner(**sent.manner)).wrong


def test_files_are_cleared_away_after_two_weeks_without_use(crew, truck):
    content = f"{HEADING}\n{LINE}\n".encode()
    old, new = (
        begin_import(user=crew.manager, source="Feed", name="trips", upload=io.BytesIO(content)) for _ in range(2)
    )
    past = time.time() - 15 * 86_400
    for path in (kept.folder_of("trips", old.key), staging.source_of(old.key)):
        os.utime(path, (past, past))
    kept.clear_old()
    assert staging.source_of(new.key).exists()
    with pytest.raises(FleetError, match="cleared away"):
        staging.source_of(old.key)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(st.binary(max_size=300), st.binary(max_size=80).map(lambda tail: b"PK\x03\x04" + tail),
                 st.binary(max_size=80).map(lambda tail: b"PAR1" + tail + b"PAR1"),
                 st.text(max_size=200).map(lambda text: f"{HEADING}\n{text}".encode(errors="replace"))))  # fmt: skip
def test_whatever_is_sent_is_previewed_or_refused(crew, content):
    try:
        sent = begin_import(user=crew.manager, source="Feed", name="trips", upload=io.BytesIO(content))
    except FleetError as refusal:
        assert refusal.sentence.endswith(".")
    else:
        assert preview(crew.manager, sent, Manner(**sent.manner)).columns
