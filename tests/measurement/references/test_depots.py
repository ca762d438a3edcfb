"""Depots that read the same parts, against a certified one-way layout, scipy, and simulated truth."""

import numpy as np
import pytest
from scipy import stats

from checks.measurement.depots import compare
from checks.measurement.errors import MeasurementError

# NIST StRD, one-way layout SiRstv: resistivity by five instruments. Certified F 1.18046237440255. Status: verified.
SIRSTV = {
    "1": (196.3052, 196.1240, 196.1890, 196.2569, 196.3403),
    "2": (196.3042, 196.3825, 196.1669, 196.3257, 196.0422),
    "3": (196.1303, 196.2005, 196.2889, 196.0343, 196.1811),
    "4": (196.2795, 196.1748, 196.1494, 196.1485, 195.9885),
    "5": (196.2119, 196.1051, 196.1850, 196.0052, 196.2090),
}


def round_of(rng, offsets, *, technicians=3, parts=10, trials=3, technician=0.01, repeat=0.03):
    """The same parts read at as many depots as there are offsets, mm."""
    true = rng.normal(1.5, 0.15, (parts, 1, 1))
    found = {}
    for name, offset in offsets.items():
        people = rng.normal(0.0, technician, (1, technicians, 1))
        found[name] = true + offset + people + rng.normal(0.0, repeat, (parts, technicians, trials))
    return found


def test_the_certified_layout_gives_the_certified_f():
    """One part and one trial: each value is one technician's."""
    found = compare({name: np.array(values)[None, :, None] for name, values in SIRSTV.items()})
    assert found.f == pytest.approx(1.18046237440255, rel=1e-9)
    assert found.dof == 20
    assert found.technician_mm == pytest.approx(0.104076068334656, rel=1e-9)  # certified residual sd
    assert found.odd == ()


def test_the_parts_cancel_and_the_technicians_are_what_is_compared():
    tables = round_of(np.random.default_rng(4), {"a": 0.0, "b": 0.02, "c": -0.01, "d": 0.0})
    peer = stats.f_oneway(*(table.mean(axis=(0, 2)) for table in tables.values()))
    found = compare(tables)
    assert (found.f, found.p) == (pytest.approx(peer.statistic), pytest.approx(peer.pvalue))
    moved = compare({name: table + np.arange(10.0)[:, None, None] for name, table in tables.items()})
    assert [one.difference_mm for one in moved.depots] == pytest.approx([one.difference_mm for one in found.depots])


def test_the_limits_of_two_depots_are_those_of_students_test():
    """Two depots: half of 5 % shared by two, so the limits are those of a two-sided test at 2.5 %."""
    tables = round_of(np.random.default_rng(5), {"a": 0.0, "b": 0.03}, technicians=4)
    a, b = (table.mean(axis=(0, 2)) for table in tables.values())
    low, high = stats.ttest_ind(a, b).confidence_interval(0.975)
    first = compare(tables).depots[0]
    assert (first.low_mm, first.high_mm) == (pytest.approx(low), pytest.approx(high))


def test_of_two_depots_that_differ_none_is_called_odd():
    found = compare(round_of(np.random.default_rng(6), {"a": 0.0, "b": 0.2}))
    assert all(depot.differs for depot in found.depots)
    assert found.odd == ()


def test_an_odd_depot_is_named_and_does_not_drag_the_others_along():
    found = compare(round_of(np.random.default_rng(7), {"a": 0.0, "b": 0.1, "c": 0.0}))
    assert [depot.name for depot in found.odd] == ["b"]
    odd = found.odd[0]
    assert odd.low_mm < 0.1 < odd.high_mm
    assert [depot.differs for depot in found.depots] == [False, True, False]


@pytest.mark.parametrize("technicians", [2, 3])
def test_depots_that_read_alike_are_rarely_told_apart(technicians):
    """1,500 rounds of four depots without a difference; 5 % by definition, three binomial errors granted."""
    rng = np.random.default_rng(8)
    rounds = (round_of(rng, dict.fromkeys("abcd", 0.0), technicians=technicians, parts=4) for _ in range(1500))
    wrong = np.mean([any(depot.differs for depot in compare(tables).depots) for tables in rounds])
    assert 0.01 < wrong < 0.067


def test_the_odd_depots_limits_hold_the_truth():
    """800 rounds of three depots, one 0.1 mm high: limits for all together hold it in 95 % at least, found or not."""
    rng = np.random.default_rng(9)
    held, found = [], []
    for _ in range(800):
        told = compare(round_of(rng, {"a": 0.0, "b": 0.1, "c": 0.0}, parts=5, trials=2))
        found.append([depot.name for depot in told.odd] == ["b"])
        held.append(told.depots[1].low_mm <= 0.1 <= told.depots[1].high_mm)
    assert np.mean(found) > 0.9
    assert np.mean(held) > 0.93


@pytest.mark.parametrize(
    ("tables", "code"),
    [
        ({"a": np.ones((2, 2, 2))}, "depots_few"),
        ({"a": np.ones((2, 2, 2)), "b": np.ones((3, 2, 2))}, "parts_differ"),
        ({"a": np.ones((2, 2)), "b": np.ones((2, 2))}, "parts_differ"),
        ({"a": np.ones((2, 1, 2)), "b": np.ones((2, 1, 2))}, "technicians_few"),
        ({"a": np.ones((2, 2, 2)), "b": np.ones((2, 2, 2))}, "study_flat"),
        ({"a": np.ones((2, 2, 2)), "b": np.full((2, 2, 2), np.nan)}, "readings_missing"),
    ],
)
def test_what_cannot_be_compared_says_so(tables, code):
    with pytest.raises(MeasurementError) as caught:
        compare(tables)
    assert caught.value.code == code
