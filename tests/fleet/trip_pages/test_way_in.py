"""A file's way from its upload by the trial run to the record."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pyarrow
import pytest
from django.conf import settings
from django.utils import timezone
from openpyxl import Workbook
from pyarrow import parquet

from fleet.models import Job, Trip, TripImport
from tests.fleet.trip_pages.sent_trips import READ, words
from tests.fleet.trips.trip_lines import HEADING, lines

pytestmark = pytest.mark.django_db


FILES = Path(settings.BASE_DIR) / "fixtures"


def test_a_file_goes_from_its_upload_by_the_trial_run_to_the_record(client, post, tried):
    run = tried("201,2025-03-14 08:30,1,80,25", "202,2025-03-14 08:30,1,80,26", "203,2025-03-14 08:30,1,80,26")
    page = words(client.get(run))
    assert "Nothing is written yet. It would bring 2 trips new to the record, 0 corrected, 0 known already" in page
    assert "1 line would be refused" in page
    assert "You manage no truck with this number." in page
    assert "line 4: 203,2025-03-14 08:30,1,80,26" in page
    assert not Trip.objects.exists()
    assert post(run, {"act": "bring"}).url == run
    page = words(client.get(run))
    assert "It is in: 2 trips new to the record, 0 corrected, 0 known already; 1 line was refused." in page
    assert "See the trips from 14 Mar 2025 to 14 Mar 2025" in page
    assert Trip.objects.count() == 2
    # A second tap is the same wish.
    assert post(run, {"act": "bring"}).url == run
    assert Job.objects.filter(kind="bring-trips").count() == 2


def test_the_trial_run_tells_known_and_corrected_lines_apart(client, post, tried):
    post(tried("201,2025-03-14 08:30,1,80,25", "201,2025-03-15 08:30,1,80,25"), {"act": "bring"})
    page = words(client.get(tried("201,2025-03-14 08:30,1,80,25", "201,2025-03-15 08:30,1,80,27")))
    assert "It would bring 0 trips new to the record, 1 corrected, 1 known already" in page
    page = words(client.get(tried("201,2025-03-14 08:30,1,80,25")))
    assert "It would change nothing: 1 trip known already." in page
    page = words(client.get(tried("999,2025-03-14 08:30,1,80,25")))
    assert "None of the 1 line can be brought in. Nothing is written." in page
    assert "Bring in" not in page


@pytest.mark.parametrize("path", sorted(FILES.glob("trips_*.csv")), ids=lambda path: path.name)
def test_every_sample_file_reads_or_says_what_it_lacks(client, send, trucks, path):
    page = words(client.get(send(path.read_bytes(), path.name).url))
    said = {
        "trips_broken.csv": "Of the first 14 lines, 2 can be brought in; 12 would be refused",
        "trips_broken_no_fuel.csv": "Say which column holds: fuel.",
        "trips_miles_gallons.csv": "Of the first 3 lines, 3 can be brought in.",
        "trips_plain.csv": "Of the first 6 lines, 6 can be brought in.",
        "trips_semicolon_comma_local.csv": "Say which column holds: truck, start, distance, fuel, end or duration.",
    }
    assert said[path.name] in page


def test_a_workbook_and_a_table_of_parquet_read_as_the_same_lines(client, send, post, trucks):
    start = datetime(2025, 3, 14, 8, 30, tzinfo=UTC).replace(tzinfo=None)
    cells = [HEADING.split(","), ("201", start, 1.5, 80, 25)]
    book, sheet = Workbook(), io.BytesIO()
    for row in cells:
        book.active.append(row)
    book.save(sheet)
    table = io.BytesIO()
    parquet.write_table(pyarrow.table({name: [value] for name, value in zip(*cells, strict=True)}), table)
    for content, name in ((sheet, "trips.xlsx"), (table, "trips.parquet")):
        where = send(content.getvalue(), name).url
        assert "Of the first 1 line, 1 can be brought in." in words(client.get(where)), name
        post(post(where, READ | {"act": "trial"}).url, {"act": "bring"})
    trip = Trip.objects.get()
    assert (trip.started_at, trip.duration_s, trip.fuel_l) == (datetime(2025, 3, 14, 8, 30, tzinfo=UTC), 5400, 25)


def test_stopping_keeps_what_is_in_and_says_so(client, post, send, trucks):
    run = post(send(lines("201,2025-03-14 08:30,1,80,25")).url, READ | {"act": "trial"}).url
    sent = TripImport.objects.get()
    job = Job.objects.create(
        kind="bring-trips", state="running", lease_token="0" * 32, lease_until=timezone.now(), done_count=700,
        total_count=1000, arguments={"key": str(sent.pk)}, requested_by=sent.sent_by,
    )  # fmt: skip
    TripImport.objects.update(job=job, lines=700, accepted=690, refused=10, new=690)
    page = words(client.get(run))
    assert "Its worker has fallen silent." in page
    assert 'value="70"' in client.get(run).content.decode()
    post(run, {"act": "stop"})
    assert "It was stopped after 700 lines. The 690 trips of them stay on record." in words(client.get(run))
    assert client.post(run, {"act": "stop"}).status_code == 409
    TripImport.objects.update(lines=0, accepted=0, refused=0, new=0)
    post(run, {"act": "bring"})
    assert "It is in: 1 trip new to the record" in words(client.get(run))


def test_a_file_on_its_way_is_not_read_in_another_manner(client, post, tried):
    run = tried("201,2025-03-14 08:30,1,80,25")
    post(run, {"act": "bring"})
    reading = run.replace("run/", "")
    assert client.get(reading).url == run
    assert client.post(reading, READ | {"act": "trial"}).status_code == 409


def test_another_manner_asks_for_another_trial_run(client, post, tried):
    run = tried("201,2025-03-14 08:30,1,80,25")
    reading = run.replace("run/", "")
    post(reading, READ | {"unit-3": "mi", "act": "trial"})
    assert "above 130 km/h" not in words(client.get(run))
    assert Job.objects.count() == 2
