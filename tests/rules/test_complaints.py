"""Complaints are set against the worst state within the lag, within strata."""

import numpy as np
import pytest

from checks.rules.complaints import (
    Travel,
    TruckMonths,
    correlate,
    silent,
    strata_tables,
    two_by_two,
    worst_within,
)


def months(truck, month, travel, complained, thirsty=None, stratum=None):
    n = len(truck)
    return TruckMonths(
        np.array(truck, dtype=int),
        np.array(month, dtype=int),
        np.zeros(n, dtype=int) if stratum is None else np.array(stratum),
        np.array(travel, dtype=int),
        np.array(complained, dtype=bool),
        np.zeros(n, dtype=bool) if thirsty is None else np.array(thirsty, dtype=bool),
    )


def test_a_complaint_soon_after_leaving_the_window_is_explained():
    seen = months([1] * 4, [0, 1, 2, 3], [0, 2, 0, 0], [0, 0, 0, 1])
    assert correlate(seen, lag_months=2).explained == 1
    assert correlate(seen, lag_months=1).unexplained == 1


def test_the_lag_does_not_reach_into_another_truck_or_across_a_gap():
    seen = months([1, 1, 2, 2], [0, 1, 2, 9], [1, 1, 0, 0], [0, 0, 1, 1])
    assert worst_within(seen, 2).tolist() == [1, 1, 0, 0]
    assert correlate(seen).unexplained == 2


def test_an_unknown_month_takes_what_an_earlier_one_knew():
    seen = months([1, 1, 1], [0, 1, 2], [Travel.INSIDE, Travel.UNKNOWN, Travel.UNKNOWN], [0, 1, 1])
    assert worst_within(seen, 1).tolist() == [0, 0, -1]
    found = correlate(seen, lag_months=1)
    assert (found.unexplained, found.unknown) == (1, 1)


def test_thirsty_trucks_outside_that_nobody_complained_about_are_named():
    seen = months([1, 2, 3], [0, 0, 0], [1, 1, 0], [1, 0, 0], thirsty=[1, 1, 1])
    assert seen.truck[silent(seen).row].tolist() == [2]


def test_a_silence_lasts_from_the_first_month_outside_and_thirsty_to_the_last():
    truck, month = [1] * 5, [0, 1, 2, 3, 4]
    seen = months(truck, month, [1, 0, 2, -1, 2], [0] * 5, thirsty=[1, 0, 1, 0, 1])
    found = silent(seen)
    assert (found.row.tolist(), found.since.tolist()) == ([4], [2])
    mended = months(truck, month, [1, 1, 1, 1, 0], [0] * 5, thirsty=[1] * 5)
    assert not len(silent(mended).row)
    calmed = months(truck, month, [1] * 5, [0] * 5, thirsty=[1, 1, 1, 1, 0])
    assert not len(silent(calmed).row)


@pytest.mark.parametrize(("asked", "quiet"), [(0, True), (1, False), (2, False), (4, False)])
def test_a_complaint_shortly_before_or_since_breaks_the_silence(asked, quiet):
    complained = [month == asked for month in range(5)]
    seen = months([1] * 5, range(5), [0, 0, 0, 1, 1], complained, thirsty=[0, 0, 0, 1, 1])
    assert bool(len(silent(seen).row)) == quiet


def test_a_truck_whose_last_known_month_is_old_is_not_called_silent():
    seen = months([1, 2], [0, 3], [1, 1], [0, 0], thirsty=[1, 1])
    assert seen.truck[silent(seen).row].tolist() == [2]
    assert not len(silent(months([], [], [], [])).row)


def test_trucks_whose_travel_nobody_knows_are_not_called_silent():
    assert not len(silent(months([1, 1], [0, 1], [-1, -1], [0, 0], thirsty=[1, 1])).row)


def test_strata_keep_their_tables():
    seen = months([1, 2, 3, 4], [0] * 4, [1, 0, -1, 2], [1, 0, 1, 0], stratum=[5, 5, 5, 8])
    names, tables = strata_tables(seen, worst_within(seen, 0))
    assert names.tolist() == [5, 8]
    assert tables.tolist() == [[[1, 0], [0, 1]], [[0, 1], [0, 0]]]


def test_tables_count_each_truck_month_once():
    tables = two_by_two(np.array([7, 7, 9, 9]), np.array([1, 0, 1, 1], bool), np.array([1, 1, 0, 1], bool))
    assert tables.tolist() == [[[1, 0], [1, 0]], [[1, 1], [0, 0]]]


@pytest.mark.parametrize("ratio", [1.0, 4.0])
def test_a_planted_odds_ratio_is_recovered_within_strata(ratio):
    """Simulation with known truth: strata differ in both complaints and travel, which would bias one pooled table."""
    rng, inside = np.random.default_rng(5), 0
    for _ in range(200):
        stratum = rng.integers(0, 3, 3000)
        out = rng.random(3000) < np.array([0.05, 0.2, 0.4])[stratum]
        odds = np.array([0.02, 0.05, 0.12])[stratum] * np.where(out, ratio, 1.0)
        asked = rng.random(3000) < odds / (1 + odds)
        seen = months(np.arange(3000), np.zeros(3000, int), out.astype(int), asked, stratum=stratum)
        found = correlate(seen, lag_months=0).overall
        inside += found.low < ratio < found.high
    assert 0.91 < inside / 200 <= 0.99


def test_a_negative_lag_is_refused():
    with pytest.raises(ValueError, match="lag"):
        correlate(months([1], [0], [0], [0]), lag_months=-1)
