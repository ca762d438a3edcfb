"""Truck-month moments: formed of touched cells only, the same bits whenever they are formed."""

from io import StringIO

import numpy as np
import pytest
from django.core.management import call_command
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checks.jobs.moments import form_moments
from checks.models import TruckMonth
from checks.rules.moments import REFERENCE
from checks.selectors.months import cells_from
from checks.services.moments import mark_all
from fleet.imports.trips.order import stretches_of
from fleet.imports.trips.store import write_trips
from fleet.jobs.ledger import claim
from fleet.models import Job, StaleCell, Trip
from fleet.selectors.trips import FLOATS, TRIP, cell_of, month_begins, month_of, trips_around
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
NONE = np.zeros(0, TRIP)


def invent(trucks, days, seed=1, first="2025-01-01"):
    rng = np.random.default_rng(seed)
    trips = np.zeros(len(trucks) * days, TRIP)
    start = np.datetime64(first, "s").astype(int)
    trips["truck"] = np.repeat([truck.pk for truck in trucks], days)
    trips["started_s"] = start + 86_400 * np.tile(np.arange(days), len(trucks))
    for name, low, high in zip(
        FLOATS, (3600, 40, 10, 0, 0, 0, -5, 1000), (9000, 90, 30, 25, 900, 600, 30, 9000), strict=True
    ):
        trips[name] = rng.uniform(low, high, len(trips))
    return trips


def form() -> int:
    return form_moments(claim(job_id=Job.objects.create(kind="form-moments").pk))["cells"]


def bits():
    return list(TruckMonth.objects.order_by("truck", "month").values_list("truck", "month", "rows", "moments"))


def test_moments_are_the_weighted_sums_and_products_of_the_rows():
    """Against numpy's weighted mean and covariance of the plain columns."""
    trips = invent([TruckFactory()], 20)
    write_trips(trips, NONE)
    assert form() == 1
    cells = cells_from(TruckMonth.objects.all())
    fuel, km, h = trips["fuel_l"], trips["distance_km"], trips["duration_s"] / 3600
    plain = np.stack(
        [np.log(100 * fuel / km), trips["payload_t"], trips["ascent_m"] / km, km / h, (km / h) ** 2,
         trips["idle_s"] / trips["duration_s"], trips["temperature_c"]]
    )  # fmt: skip
    mean = cells.sums[0] / cells.weight[0]
    assert mean + REFERENCE == pytest.approx(np.average(plain, axis=1, weights=km), rel=1e-12)
    covariance = cells.products[0] / cells.weight[0] - np.outer(mean, mean)
    expected = np.cov(plain, aweights=km, ddof=0)
    assert covariance == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert cells.litres[0] == pytest.approx(fuel.sum())


def test_a_rebuild_gives_the_same_bits_in_whatever_order_trips_came():
    trips = invent([TruckFactory(), TruckFactory()], 70)
    write_trips(trips, NONE)
    form()
    first = bits()
    assert mark_all() == len(first) == 6
    form()
    assert bits() == first
    Trip.objects.all().delete()
    TruckMonth.objects.all().delete()
    write_trips(trips[1::2], NONE)
    form()
    write_trips(trips[::2], NONE)
    form()
    assert bits() == first


def test_the_rebuild_command_mends_damaged_moments_to_the_same_bits():
    write_trips(invent([TruckFactory(), TruckFactory()], 70), NONE)
    form()
    first = bits()
    TruckMonth.objects.filter(pk=TruckMonth.objects.first().pk).update(moments=b"")
    TruckMonth.objects.last().delete()
    call_command("rebuild", stdout=StringIO())
    assert bits() == first
    assert not StaleCell.objects.exists()


def test_adding_a_month_forms_that_month_alone():
    trucks = [TruckFactory(), TruckFactory()]
    write_trips(invent(trucks, 60), NONE)
    form()
    write_trips(invent(trucks, 20, first="2025-04-02"), NONE)
    assert StaleCell.objects.count() == 2
    assert form() == 2


def test_a_truck_month_whose_trips_are_gone_is_taken_away():
    trips = invent([TruckFactory()], 20)
    write_trips(trips, NONE)
    form()
    Trip.objects.all().delete()
    mark_all()
    form()
    assert not TruckMonth.objects.exists()


def test_what_a_source_does_not_record_counts_as_the_reference():
    trips = invent([TruckFactory()], 20)
    for name in ("payload_t", "ascent_m", "idle_s", "temperature_c", "odometer_km"):
        trips[name] = np.nan
    write_trips(trips, NONE)
    form()
    cells = cells_from(TruckMonth.objects.all())
    assert cells.sums[0, [1, 2, 5, 6]] == pytest.approx(0, abs=1e-9)


def test_months_agree_with_numpys_calendar():
    moments = np.array(["1999-12-31T23:59:59", "2024-02-29T00:00:00", "2025-01-01T00:00:00"], "M8[s]").astype(np.int64)
    assert month_of(moments).tolist() == [12 * 1999 + 11, 12 * 2024 + 1, 12 * 2025]
    assert month_begins(np.array([12 * 2024 + 1])).astype("M8[s]")[0] == np.datetime64("2024-02-01T00:00:00")


def hold(trips):
    """Write trips as an import writes a chunk of them: held against the record, whole months formed at once."""
    stored = trips_around(stretches_of(trips))
    known = np.isin(cell_of(trips), cell_of(stored))
    write_trips(trips, NONE, ~known)
    return int(known.sum())


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 10_000), parts=st.integers(1, 6), by_truck=st.booleans())
def test_months_formed_with_their_trips_at_hand_are_those_of_a_rebuild(seed, parts, by_truck):
    """Whether a file comes truck by truck, day by day or in pieces of either."""
    with transaction.atomic():
        trips = invent([TruckFactory(), TruckFactory(), TruckFactory()], 75, seed)
        order = np.argsort(trips["truck" if by_truck else "started_s"], kind="stable")
        cuts = np.sort(np.random.default_rng(seed).integers(0, len(trips), parts - 1))
        for piece in np.split(trips[order], cuts):
            hold(np.sort(piece, order=["truck", "started_s"]))
        form()
        at_once = bits()
        mark_all()
        form()
        assert bits() == at_once
        assert len(at_once) == 9
        transaction.set_rollback(True)


def test_a_file_sorted_by_truck_leaves_few_months_to_form_later():
    trucks = [TruckFactory(), TruckFactory()]
    assert hold(invent(trucks, 60)) == 0
    assert not StaleCell.objects.exists()
    assert TruckMonth.objects.count() == 6
    assert hold(invent(trucks[:1], 10, first="2025-03-05")) == 10
    assert list(StaleCell.objects.values_list("truck", flat=True)) == [trucks[0].pk]
