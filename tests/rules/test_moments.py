"""Moments add exactly, rebuild to the same bits, and lose nothing of the rows."""

import numpy as np
import pytest

from checks.rules.moments import REFERENCE, columns_of, form_cells
from tests.rules.trips import simulate_trips


@pytest.fixture(scope="module")
def trips():
    return simulate_trips(np.random.default_rng(1), 9)


def test_cells_hold_the_weighted_sums_of_their_rows(trips):
    """Against numpy over the rows of one cell."""
    for cell in (0, 17, 107):
        here = (trips.truck == trips.cells.truck[cell]) & (trips.month == trips.cells.month[cell])
        rows, weight = trips.rows[here], trips.weight[here]
        assert trips.cells.rows[cell] == here.sum()
        assert trips.cells.weight[cell] == pytest.approx(weight.sum(), rel=1e-14)
        assert trips.cells.sums[cell] == pytest.approx(weight @ rows, rel=1e-12)
        assert trips.cells.products[cell] == pytest.approx(np.einsum("n,np,nq->pq", weight, rows, rows), rel=1e-12)


def test_a_rebuild_gives_the_same_bits(trips):
    again = form_cells(trips.truck, trips.month, trips.rows, trips.weight, np.ones(len(trips.truck)))
    assert (again.products == trips.cells.products).all()
    assert (again.sums == trips.cells.sums).all()


def test_one_month_alone_gives_the_same_cells_as_all_months_together(trips):
    late = trips.month == 11
    alone = form_cells(trips.truck[late], trips.month[late], trips.rows[late], trips.weight[late], np.ones(late.sum()))
    assert (alone.products == trips.cells.where(trips.cells.month == 11).products).all()


def test_a_trip_becomes_its_columns_about_the_reference():
    row = columns_of(*(np.array([v]) for v in (64.0, 200.0, 20.0, 1000.0, 4.0, 0.4, 15.0)))[0]
    assert row + REFERENCE == pytest.approx([np.log(32.0), 20.0, 5.0, 50.0, 2500.0, 0.1, 15.0])


def test_trips_without_distance_are_refused():
    with pytest.raises(ValueError, match="above zero"):
        columns_of(*(np.array([v]) for v in (10.0, 0.0, 1.0, 1.0, 1.0, 0.0, 1.0)))


def test_no_trips_make_no_cells():
    empty = np.zeros(0)
    assert len(form_cells(empty.astype(int), empty.astype(int), np.zeros((0, 7)), empty, empty).weight) == 0
