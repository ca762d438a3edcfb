"""Files of trips: what is taken, what is refused, and that the same file twice changes nothing."""

from datetime import UTC, datetime

import pytest

from checks.models import TruckMonth
from fleet.imports.trips import job as trip_job
from fleet.imports.trips import staging
from fleet.models import MeterReading, StaleCell, Trip
from tests.fleet.trips.trip_lines import HEADING, lines

pytestmark = pytest.mark.django_db


def test_a_trip_is_kept_in_seconds_kilometres_and_litres(bring):
    done = bring(lines("T1,2025-03-14T08:30:00Z,1.5,100,33", heading=HEADING))
    assert (done.lines, done.accepted, done.new) == (1, 1, 1)
    trip = Trip.objects.get()
    assert (trip.duration_s, trip.distance_km, trip.fuel_l, trip.payload_t) == (5400, 100, 33, None)
    assert trip.started_at == datetime(2025, 3, 14, 8, 30, tzinfo=UTC)
    # A month that has no other trips is formed at once, with them at hand.
    assert list(TruckMonth.objects.values_list("month", flat=True)) == [12 * 2025 + 2]
    assert not StaleCell.objects.exists()


def test_other_units_are_converted_by_their_exact_factors(bring):
    # NIST SP 811 (2008), appendix B.8: 1 mi = 1.609344 km, 1 gal (US) = 3.785411784 L, 1 lb = 0.45359237 kg,
    # 1 ft = 0.3048 m, t/°C = (t/°F - 32)/1.8; all exact.
    heading = "truck,start,duration_min,distance_mi,fuel_gal,payload_lb,ascent_ft,temperature_f"
    bring(lines("T1,2025-03-14 08:30,90,100,15,30000,1000,50", heading=heading))
    trip = Trip.objects.get()
    assert trip.distance_km == pytest.approx(160.9344, rel=1e-15)
    assert trip.fuel_l == pytest.approx(15 * 3.785411784, rel=1e-15)
    assert trip.payload_t == pytest.approx(13.6077711, rel=1e-15)
    assert trip.ascent_m == pytest.approx(304.8, rel=1e-15)
    assert trip.temperature_c == pytest.approx(10, rel=1e-15)
    assert trip.duration_s == 5400


def test_the_same_file_twice_changes_nothing(bring):
    text = lines("T1,2025-03-14 08:30,1,80,25", "T1,2025-03-14 12:00,1,80,26", "T1,2025-03-14 12:30,1,80,26")
    first = bring(text)
    StaleCell.objects.all().delete()
    before = list(Trip.objects.values())
    again = bring(text)
    assert (first.new, first.refused, again.new, again.changed, again.accepted) == (2, 1, 0, 0, 2)
    assert list(Trip.objects.values()) == before
    assert not StaleCell.objects.exists()


def test_a_corrected_line_replaces_its_trip_and_marks_its_month(bring):
    bring(lines("T1,2025-03-14 08:30,1,80,25"))
    StaleCell.objects.all().delete()
    done = bring(lines("T1,2025-03-14 08:30,1,80,27"))
    assert (done.new, done.changed, Trip.objects.get().fuel_l) == (0, 1, 27)
    assert StaleCell.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("T9,2025-03-14 08:30,1,80,25", "You manage no truck"),
        (",2025-03-14 08:30,1,80,25", "truck is blank"),
        ("T1,yesterday,1,80,25", "start is not read as"),
        ("T1,2125-03-14 08:30,1,80,25", "in the future"),
        ("T1,1999-03-14 08:30,1,80,25", "not in service yet"),
        ("T1,2025-03-14 08:30,1,eighty,25", "distance is no number"),
        ("T1,2025-03-14 08:30,1,,25", "distance is blank"),
        ("T1,2025-03-14 08:30,0,80,25", "does not end after its start"),
        ("T1,2025-03-14 08:30,30,80,25", "more than 24 h"),
        ("T1,2025-03-14 08:30,0.5,80,25", "above 130 km/h"),
        ("T1,2025-03-14 08:30,1,80,1", "below 4 L/100 km"),
        ("T1,2025-03-14 08:30,1,80,250", "above 200 L/h"),
        ("T1,2025-03-14 08:30,1,80,inf", "fuel is no number"),
        ("T1,2025-03-14 08:30,1,80", "as many cells"),
        ('T1,2025-03-14 08:30,1,80,"25', "quotation mark"),
    ],
)
def test_a_line_that_cannot_be_is_refused_with_its_reason_and_original(bring, line, word):
    done = bring(lines(line, "T1,2025-04-01 08:30,1,80,25"))
    assert (done.lines, done.accepted, done.refused) == (2, 1, 1)
    (refused,) = done.report
    assert refused.startswith("2,")
    assert word in refused
    assert line.replace('"', '""') in refused


def test_overlapping_trips_are_caught_in_the_file_and_against_the_record(bring):
    bring(lines("T1,2025-03-14 08:00,2,120,40"))
    done = bring(lines("T1,2025-03-14 09:00,1,80,25", "T1,2025-03-14 07:30,1,80,25", "T1,2025-03-14 10:00,1,80,25"))
    assert (done.accepted, done.refused) == (1, 2)
    assert all("overlaps another trip" in line for line in done.report)


def test_a_refused_correction_leaves_its_trip_and_what_overlaps_that_is_refused(bring):
    bring(lines("T1,2025-03-14 06:00,1,80,25", "T1,2025-03-14 08:00,2,120,40"))
    # The correction would reach back over nothing but forward over the second trip; the third fits only beside it.
    done = bring(lines("T1,2025-03-14 06:00,3,120,40", "T1,2025-03-14 06:30,1,80,25"))
    assert (done.accepted, done.refused) == (0, 2)
    assert list(Trip.objects.order_by("started_s").values_list("duration_s", flat=True)) == [3600, 7200]


def test_odometers_that_run_back_and_clocks_that_jump_are_caught(bring, truck):
    heading = HEADING + ",odometer_km"
    bring(lines("T1,2025-03-14 08:00,1,80,25,5000", heading=heading))
    done = bring(
        lines(
            "T1,2025-03-15 08:00,1,80,25,4000",
            "T1,2025-03-16 08:00,1,80,25,50000",
            "T1,2025-03-17 08:00,1,80,25,5300",
            heading=heading,
        )
    )
    assert done.accepted == 1
    assert "runs back" in done.report[0]
    assert "faster than 130 km/h" in done.report[1]
    at = datetime(2025, 3, 20, tzinfo=UTC)
    MeterReading.objects.create(truck=truck, read_at=at, odometer_km=10, replaced_meter=True)
    assert bring(lines("T1,2025-03-21 08:00,1,80,25,20", heading=heading)).accepted == 1


def test_blank_cells_are_kept_as_unknown_where_none_is_needed(bring):
    heading = "truck,start,end,duration_h,distance_km,fuel_l,payload_t,idle_min,odometer_km"
    done = bring(
        lines(
            "T1,2025-03-14 08:00,,1,80,25,12,,",
            "T1,2025-03-15 08:00,2025-03-15 10:00,,80,25,,10,",
            "T1,2025-03-16 08:00,,,80,25,,10,",
            "T1,2025-03-17 08:00,,1,,25,,10,",
            heading=heading,
        )
    )
    assert (done.accepted, [line.split(",")[1] for line in done.report]) == (
        2,
        ["The end is blank.", "The distance is blank."],
    )
    fields = ("duration_s", "payload_t", "idle_s", "odometer_km", "ascent_m")
    assert list(Trip.objects.order_by("started_s").values_list(*fields)) == [
        (3600, 12, None, None, None),
        (7200, None, 600, None, None),
    ]
    again = bring(lines("T1,2025-03-14 08:00,,1,80,25,,5,", heading=heading))
    assert (again.changed, Trip.objects.order_by("started_s").values_list(*fields)[0]) == (
        1,
        (3600, None, 300, None, None),
    )


def test_chunks_do_not_change_what_is_taken(bring, monkeypatch):
    rows = [f"T1,2025-03-{day:02d} {hour:02d}:00,1,80,25" for day in range(1, 20) for hour in (6, 9, 12)]
    rows[7] = "T1,2025-03-03 09:00,1,x,25"
    whole = bring(lines(*rows))
    kept = list(Trip.objects.order_by("started_s").values())
    Trip.objects.all().delete()
    monkeypatch.setattr(trip_job, "chunks_after", lambda path, offset: staging.chunks_after(path, offset, 100))
    parts = bring(lines(*rows))
    assert list(Trip.objects.order_by("started_s").values()) == kept
    assert (parts.lines, parts.accepted, parts.report) == (whole.lines, whole.accepted, whole.report)
