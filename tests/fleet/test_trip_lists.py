"""What trips are on record: by depot with the months that lack, one by one, and nobody else's."""

import base64
from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Trip
from fleet.selectors.trip_lists import depot_trips, time_words, trip_row, trips_for
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db


def add(truck, *days, hour=6, **changes):
    """Trips of one hour at 06:00 UTC of days."""
    for day in days:
        started = int(datetime(*day, hour, tzinfo=UTC).timestamp())
        values = {"duration_s": 3600, "distance_km": 80, "fuel_l": 26} | changes
        Trip.objects.create(truck=truck, started_s=started, **values)


@pytest.fixture
def truck(crew):
    crew.depot.time_zone = "Pacific/Auckland"
    crew.depot.save()
    return TruckFactory(depot=crew.depot, unit_number="201")


def test_a_depot_tells_first_last_number_and_the_months_that_lack(crew, truck):
    second = TruckFactory(depot=crew.depot)
    add(truck, (2024, 11, 30), (2025, 4, 1))
    add(second, (2025, 1, 31), hour=23)
    TruckFactory(depot=crew.depot)
    (row,) = depot_trips(crew.viewer)
    assert (row.trucks, row.trips, row.lacking) == (3, 3, ("Dec 2024", "Feb 2025", "Mar 2025"))
    # New Zealand is 13 h ahead of UTC in December and from the last Sunday of September to the first of April.
    assert (row.first_on, row.last_on) == (date(2024, 11, 30), date(2025, 4, 1))


def test_a_month_lacks_only_where_no_truck_of_the_depot_made_a_trip(crew, truck):
    add(truck, (2025, 1, 1), (2025, 3, 1))
    add(TruckFactory(depot=crew.depot), (2025, 2, 28), hour=23)
    assert depot_trips(crew.viewer)[0].lacking == ()
    # Another depot's trip in the month does not help.
    other = TruckFactory()
    add(other, (2025, 1, 1), (2025, 3, 1))
    assert [row.lacking for row in depot_trips(crew.viewer)] == [()]


def test_a_depot_without_trips_says_so(crew, signed_in):
    (row,) = depot_trips(crew.viewer)
    assert (row.trips, row.first_on, row.lacking) == (0, None, ())
    page = signed_in(crew.viewer).get(reverse("fleet:trips")).content.decode()
    assert "A manager of your depot brings them in." in page
    assert "Bring in a file" not in page


def test_another_depots_trips_are_not_there(crew, truck, signed_in):
    add(truck, (2025, 1, 1))
    assert not trips_for(crew.stranger).exists()
    assert [row.trips for row in depot_trips(crew.stranger)] == [0]
    assert b"201" not in signed_in(crew.stranger).get(reverse("fleet:trip_list")).content


def test_trips_are_found_by_truck_and_days(crew, truck):
    add(truck, (2025, 1, 1), (2025, 1, 2), (2025, 1, 3))
    add(TruckFactory(depot=crew.depot, unit_number="202"), (2025, 1, 2))
    assert trips_for(crew.viewer, truck="202").count() == 1
    assert trips_for(crew.viewer, since=date(2025, 1, 2), until=date(2025, 1, 2)).count() == 2
    assert trips_for(crew.viewer, depot=crew.depot.pk).count() == 4
    assert trips_for(crew.viewer, depot=crew.depot.pk + 999).count() == 0


def test_a_trip_is_shown_by_the_clock_of_its_depot(crew, truck, signed_in):
    add(truck, (2025, 7, 1), idle_s=330, payload_t=18.26)
    row = trip_row(trips_for(crew.viewer).get())
    # New Zealand standard time is UTC + 12 h (from memory).
    assert (row.start, row.duration, row.idling) == ("1 Jul 2025, 18:00", "1 h 00 min", "5.5 min")
    assert row.litres_per_100_km == 32.5
    crew.viewer.distance_unit = "mi"
    crew.viewer.save()
    page = signed_in(crew.viewer).get(reverse("fleet:trip_list")).content.decode()
    # 1 mi = 1.609344 km (NIST SP 811, appendix B.8).
    assert "50 mi" in page
    assert "18.3 t" in page


def test_of_one_truck_the_latest_come_first_page_by_page(crew, truck, signed_in):
    add(truck, *((2025, month, day) for month in (1, 2) for day in range(1, 29)))
    client = signed_in(crew.viewer)
    first = client.get(reverse("fleet:trip_list"), {"truck": "201"})
    starts = [row.started_at for row in first.context["rows"]]
    assert (len(starts), starts[0].month) == (50, 2)
    second = client.get(reverse("fleet:trip_list") + first.context["next"])
    starts += [row.started_at for row in second.context["rows"]]
    assert starts == sorted(starts, reverse=True)
    assert len(set(starts)) == 56


def test_a_wrong_mark_and_wrong_days_are_answered_with_a_sentence(crew, truck, signed_in):
    client = signed_in(crew.viewer)
    forged = base64.urlsafe_b64encode(b'["a truck", 1]').decode().rstrip("=")
    for mark in ("nonsense", forged):
        assert client.get(reverse("fleet:trip_list"), {"after": mark}).status_code == 400
        assert client.get("/api/v1/trips/", {"after": mark}).status_code == 400
    assert client.get(reverse("fleet:trip_list"), {"since": "tomorrow"}).status_code == 200


@pytest.mark.parametrize("name", ["trips", "trip_list"])
def test_pages_cost_the_same_queries_with_one_trip_and_with_many(crew, truck, signed_in, no_writes, name):
    client = signed_in(crew.manager)
    add(truck, (2025, 1, 1), (2025, 5, 1))

    def cost():
        with CaptureQueriesContext(connection) as asked, no_writes():
            assert client.get(reverse(f"fleet:{name}")).status_code == 200
        return len(asked)

    before = cost()
    for _ in range(4):
        add(TruckFactory(depot=crew.depot), *((2025, month, 2) for month in range(1, 13, 3)))
    assert cost() == before


@pytest.mark.parametrize(
    ("seconds", "words"), [(45, "0.75 min"), (590, "9.83 min"), (600, "10 min"), (3540, "59 min"), (3600, "1 h 00 min")]
)
def test_a_duration_reads_in_hours_and_minutes(seconds, words):
    assert time_words(seconds) == words
