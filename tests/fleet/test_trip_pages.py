"""Pages of trips: what is on record, and a file's way from its upload to the record."""

import io
import re
from datetime import UTC, datetime
from pathlib import Path

import pyarrow
import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from openpyxl import Workbook
from pyarrow import parquet

from fleet.models import Job, Trip, TripImport, TripSource
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
FILES = Path(settings.BASE_DIR) / "fixtures"
HEADING = "truck,start,duration_h,distance_km,fuel_l"
SIGNS = {"delimiter": ",", "decimal": ".", "time_form": "iso", "zone": "UTC", "cut": ","}
COLUMNS = {f"column-{place}": item for place, item in enumerate(("truck", "start", "duration", "distance", "fuel"))}
READ = SIGNS | COLUMNS | {"unit-2": "h", "unit-3": "km", "unit-4": "L"}


def lines(*rows, heading=HEADING):
    return "\n".join((heading, *rows)) + "\n"


def words(answer):
    """The page's text with single blanks."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.fixture
def trucks(crew):
    return [TruckFactory(depot=crew.depot, unit_number=number) for number in ("201", "202")]


@pytest.fixture
def client(crew, signed_in):
    return signed_in(crew.manager)


@pytest.fixture
def send(client):
    """Return a function that uploads a file and gives the answer."""

    def upload(content, name="trips.csv", source="Yard export"):
        data = content if isinstance(content, bytes) else content.encode()
        return client.post(reverse("fleet:trips_bring"), {"source": source, "file": SimpleUploadedFile(name, data)})

    return upload


@pytest.fixture
def post(client, django_capture_on_commit_callbacks):
    """Return a function that posts to an address and lets the jobs that it asks for run."""

    def run(address, data):
        with django_capture_on_commit_callbacks(execute=True):
            return client.post(address, data)

    return run


@pytest.fixture
def tried(send, post, trucks):
    """Return a function that sends lines and makes their trial run; gives the address of the run."""

    def run(*rows):
        return post(send(lines(*rows)).url, READ | {"act": "trial"}).url

    return run


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


@pytest.mark.parametrize(
    ("start", "zone"),
    [
        ("2025-07-14 08:30", "Europe/Helsinki"),
        ("2025-07-14T08:30:00+01:00", "written"),
        ("1752481800", "UTC"),
    ],
)
def test_times_without_offset_start_as_the_depots_clock(client, crew, send, trucks, start, zone):
    crew.depot.time_zone = "Europe/Helsinki"
    crew.depot.save()
    page = words(client.get(send(lines(f"201,{start},1,80,25")).url))
    assert TripImport.objects.get().manner["zone"] == zone
    # In summer Helsinki is three hours before UTC (IANA time zone database).
    assert {"written": "2025-07-14 07:30", "UTC": "2025-07-14 08:30"}.get(zone, "2025-07-14 05:30") in page


def test_looking_keeps_nothing_and_the_trial_run_remembers_the_source(client, send, post, trucks):
    where = send(lines("201;14.03.2025 08:30;1,5;80,5;25", heading="a;b;c;d;e")).url
    kept = TripImport.objects.get().manner
    chosen = READ | {"delimiter": ";", "cut": ";", "decimal": ",", "time_form": "day_dots", "zone": "Europe/London"}
    page = words(client.post(where, chosen | {"act": "look"}))
    assert "Of the first 1 line, 1 can be brought in." in page
    assert "80.5 km" in page
    assert "1 h 30 min" in page
    assert (TripImport.objects.get().manner, TripSource.objects.get().manner) == (kept, {})
    post(where, chosen | {"act": "trial"})
    manner = TripSource.objects.get().manner
    assert manner["columns"] == {"truck": "a", "start": "b", "duration": "c", "distance": "d", "fuel": "e"}
    assert (manner["decimal"], manner["zone"], manner["units"]["duration"]) == (",", "Europe/London", "h")
    again = client.get(send(lines("202;15.03.2025 08:30;1,5;80,5;25", heading="a;b;c;d;e")).url)
    assert "Of the first 1 line, 1 can be brought in." in words(again)
    assert b"Europe/London" in client.get(reverse("fleet:trips")).content


def test_what_was_chosen_stays_when_the_columns_do_not_suffice(client, send, trucks):
    where = send(lines("201,2025-03-14 08:30,1,80,25")).url
    chosen = READ | {"column-4": "", "unit-3": "mi", "zone": "Europe/Paris", "act": "trial"}
    answer = client.post(where, chosen)
    page = answer.content.decode()
    assert "Say which column holds: fuel." in page
    for kept in ('value="mi" selected', 'value="Europe/Paris" selected', 'value="distance" selected'):
        assert kept in page
    assert not TripImport.objects.get().trial_job
    twice = client.post(where, READ | {"column-4": "distance", "act": "trial"})
    assert "Two columns are said to hold the distance: 'distance_km' and 'fuel_l'. Keep one of them." in words(
        twice
    ).replace("&#x27;", "'")


def test_made_up_choices_are_refused_with_a_sentence(client, send, trucks):
    where = send(lines("201,2025-03-14 08:30,1,80,25")).url
    for wrong in ({"delimiter": "x"}, {"zone": "Mars/Base"}, {"time_form": ""}, {"decimal": ","}):
        answer = client.post(where, READ | wrong | {"act": "trial"})
        assert answer.status_code == 200
        assert 'role="alert"' in answer.content.decode()
    # Things and units that do not exist count as not chosen.
    answer = client.post(where, READ | {"column-1": "moon", "unit-3": "parsec", "act": "trial"})
    assert "Say which column holds: start." in answer.content.decode()
    assert not Job.objects.exists()


def test_htmx_gets_the_part_that_changes(client, send, trucks):
    where = send(lines("201,2025-03-14 08:30,1,80,25")).url
    part = client.post(where, READ, headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith('<div id="reads">')
    assert "<html" not in part


def test_a_heading_cannot_write_into_the_page(client, send, trucks):
    heading = HEADING + ",<script>alert(1)</script>"
    page = client.get(send(lines("201,2025-03-14 08:30,1,80,25,<b>x</b>", heading=heading)).url).content.decode()
    assert "<script>alert" not in page
    assert "<b>x</b>" not in page


@pytest.mark.parametrize(
    ("content", "name", "says"),
    [
        (b"", "trips.csv", "The file is empty."),
        (b"\n\n", "trips.csv", "The file is empty."),
        (b"PK\x03\x04 no workbook", "trips.xlsx", "cannot be read"),
        (b"\xd0\xcf\x11\xe0 old", "trips.csv", "old workbook"),
        (b"a,b\0c\n1,2\n", "trips.csv", "no text file"),
        (b"x" * 30_000, "trips.csv", "too long for a heading"),
        (b"truck,start,distance,fuel\n", "trips.csv", "no lines under it"),
        (b"c," * 301 + b"c\n1\n", "trips.csv", "302 columns, 300 at most"),
        (b"PAR1 no table PAR1", "trips.parquet", "cannot be read"),
        (b"a,b\n1,2\n", "trips.pdf", "no table of trips by its name"),
    ],
)
def test_what_is_no_file_of_trips_is_refused_at_its_field(send, trucks, content, name, says):
    form = send(content, name).context["form"]
    assert any(says in sentence for sentence in form.errors["file"])
    assert form["source"].value() == "Yard export"


def test_a_file_that_is_too_large_or_without_a_source_is_refused(send, trucks, monkeypatch):
    assert send(lines(), source=" ").context["form"].errors["source"]
    monkeypatch.setattr("fleet.pages.trips_forms.MOST_BYTES", 10)
    assert "Split it" in send(lines()).context["form"].errors["file"][0]


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


def test_refused_lines_are_downloaded_and_no_cell_runs_as_a_formula(client, tried):
    run = tried('"=HYPERLINK(""x"")",2025-03-14 08:30,1,80,25', "201,2025-03-14 08:30,1,80,25")
    answer = client.get(run.replace("/run/", "/refused.csv"))
    assert answer["Content-Disposition"] == 'attachment; filename="refused-trips.csv"'
    text = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()
    assert text[0] == "line,reason,original"
    assert len(text) == 2
    assert text[1].startswith("2,You manage no truck with this number.,")
    assert not re.search(r',"?=', text[1])


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


def test_an_unknown_act_is_refused(client, tried):
    assert client.post(tried("201,2025-03-14 08:30,1,80,25"), {"act": "dance"}).status_code == 400


def test_nobody_else_sees_or_moves_a_file(crew, signed_in, tried):
    run = tried("201,2025-03-14 08:30,1,80,25")
    for who in (crew.stranger, crew.technician, crew.viewer):
        other = signed_in(who)
        for address in (
            run,
            run.replace("run/", ""),
            run.replace("run/", "progress/"),
            run.replace("run/", "refused.csv"),
        ):
            assert other.get(address).status_code in {403, 404}
        assert other.post(run, {"act": "bring"}).status_code in {403, 404}
    assert not Trip.objects.exists()


def test_a_day_of_summer_time_is_read_by_the_clock_of_the_place(client, send, post, trucks):
    chosen = READ | {"zone": "Europe/London"}
    where = send(
        lines("201,2025-03-30 00:30,1,40,12", "201,2025-03-30 01:30,1,40,12", "201,2025-03-30 03:00,1,40,12")
    ).url
    run = post(where, chosen | {"act": "trial"}).url
    assert "falls in an hour that the clock skips" in words(client.get(run))
    post(run, {"act": "bring"})
    # British summer time began on 30 March 2025 at 01:00 UTC (from memory): 03:00 there is 02:00 UTC.
    expected = [datetime(2025, 3, 30, 0, 30, tzinfo=UTC), datetime(2025, 3, 30, 2, 0, tzinfo=UTC)]
    assert [trip.started_at for trip in Trip.objects.order_by("started_s")] == expected
