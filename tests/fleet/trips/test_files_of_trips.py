"""Files of trips in many manners: signs, encodings, clocks, workbooks."""

import io
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from openpyxl import Workbook

from fleet.imports.trips.manner import Manner
from fleet.imports.trips.preview import preview
from fleet.imports.trips.sending import begin_import
from fleet.models import Trip
from fleet.problems import FleetError
from tests.fleet.trips.trip_lines import HEADING, lines

pytestmark = pytest.mark.django_db


def test_semicolons_decimal_commas_quotes_and_a_byte_order_mark_are_read(bring):
    text = 'truck;start;duration_h;distance_km;fuel_l\r\n"T1";"14.03.2025 08:30";"1,5";"100,5";"33,25"\r\n\r\n'
    done = bring(b"\xef\xbb\xbf" + text.encode())
    assert (done.lines, done.accepted) == (1, 1)
    assert (Trip.objects.get().distance_km, Trip.objects.get().fuel_l) == (100.5, 33.25)


def test_a_line_that_names_the_separator_is_passed_over_and_counted(bring):
    text = "sep=;\r\ntruck;start;duration_h;distance_km;fuel_l\r\nT1;14.03.2025 08:30;1,5;100,5;33\r\nT9;;;;\r\n"
    done = bring(b"\xef\xbb\xbf" + text.encode())
    assert (done.lines, done.accepted) == (2, 1)
    assert done.report[0].startswith("4,")


def test_a_start_that_the_clock_skips_is_shown_without_a_duration(crew, truck):
    text = "truck,start,end,distance_km,fuel_l\nT1,2026-03-29 02:30,2026-03-29 05:00,100,30\n"
    sent = begin_import(user=crew.manager, source="Feed", name="trips.csv", upload=io.BytesIO(text.encode()))
    seen = preview(crew.manager, sent, replace(Manner(**sent.manner), zone="Europe/Berlin"))
    [(number, cells, why)] = seen.rows
    assert (number, cells[:5]) == (2, ("T1", "", "", "100", "30"))
    assert "hour that the clock skips" in why


def test_utf_16_and_windows_files_are_read(bring):
    text = lines("T1,2025-03-14 08:30,1,80,25,Café", heading=HEADING + ",note")
    assert bring(text.encode("utf-16")).accepted == 1
    assert bring(text.encode("cp1252")).accepted == 1


def test_local_times_are_read_in_their_zone_and_the_doubled_hour_is_refused(bring):
    # Europe/Berlin leaves summer time on 2025-10-26 at 03:00 (IANA time zone database).
    text = lines("T1,2025-07-01 08:00,1,80,25", "T1,2025-10-26 02:30,1,80,25")
    done = bring(text, zone="Europe/Berlin")
    assert (done.accepted, done.refused) == (1, 1)
    assert Trip.objects.get().started_at == datetime(2025, 7, 1, 6, tzinfo=UTC)
    assert "passes twice" in done.report[0]


def test_written_offsets_may_differ_and_must_be_there(bring):
    text = lines("T1,2025-07-01T08:00+02:00,1,80,25", "T1,2025-07-02T08:00Z,1,80,25", "T1,2025-07-03T08:00,1,80,25")
    done = bring(text)
    assert (done.accepted, done.refused) == (2, 1)
    assert "with its offset" in done.report[0]


def test_a_workbook_is_read(bring):
    book, out = Workbook(), io.BytesIO()
    for row in (HEADING.split(","), ["T1", datetime(2025, 3, 14, 8, 30), 1.5, 100, 33.5]):  # noqa: DTZ001
        book.active.append(row)
    book.save(out)
    assert bring(out.getvalue()).accepted == 1
    assert Trip.objects.get().fuel_l == 33.5


def test_a_manner_is_remembered_with_its_source(bring):
    heading = "rig,began,took,far,drunk"
    columns = dict(zip(("truck", "start", "duration", "distance", "fuel"), heading.split(","), strict=True))
    text = lines("T1,03/04/2025 08:30,90,80,25", heading=heading)
    bring(text, columns=columns, units={"duration": "min"}, time_form="month_slashes")
    again = bring(text)
    assert again.sent.manner["units"] == {"duration": "min"}
    assert (again.accepted, again.changed) == (1, 0)
    assert Trip.objects.get().started_at.month == 3


def test_files_that_are_no_table_are_refused_with_a_sentence(bring):
    for content in (b"", b"\n\n", b"\x00\x01\x02", b"PK\x03\x04broken", b"PAR1"):
        with pytest.raises(FleetError):
            bring(content)
