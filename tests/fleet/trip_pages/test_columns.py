"""How a file of trips is to be read is chosen on its page: columns, places, clocks."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from fleet.models import Job, Trip, TripImport, TripSource
from tests.fleet.trip_pages.sent_trips import READ, words
from tests.fleet.trips.trip_lines import HEADING, lines

pytestmark = pytest.mark.django_db


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
