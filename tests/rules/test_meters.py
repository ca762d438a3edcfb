"""Usage is continuous over replaced meters and moves; expected values are counted by hand."""

from math import inf, isnan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.rules.meters import EMPTY, REACH_DAYS, joined, line_of


def test_between_two_readings_usage_runs_evenly():
    line = line_of([(0.0, 1000.0, False), (10.0, 5000.0, False)])
    assert line.at(5.0) == pytest.approx(3000.0)
    assert (line.at(0.0), line.at(10.0), line.whole) == (1000.0, 5000.0, True)


def test_a_replaced_meter_that_jumps_back_does_not_turn_usage_back():
    line = line_of([(0.0, 1000.0, False), (10.0, 5000.0, False), (12.0, 0.0, True), (20.0, 3200.0, False)])
    # 400 km a day before; the two days between the meters are driven at that pace.
    assert line.at(12.0) == pytest.approx(5800.0)
    assert line.at(20.0) - line.at(0.0) == pytest.approx(8000.0)
    assert not line.whole


def test_a_new_meter_set_to_the_old_ones_reading_goes_on_from_it():
    line = line_of([(0.0, 1000.0, False), (10.0, 5000.0, True), (20.0, 9000.0, False)])
    assert line.at(20.0) == pytest.approx(9000.0)


def test_of_two_readings_at_one_moment_the_later_listed_holds_and_a_new_meter_stays_one():
    line = line_of([(0.0, 900.0, False), (5.0, 10.0, True), (5.0, 20.0, False), (10.0, 120.0, False)])
    assert line.at(10.0) - line.at(5.0) == pytest.approx(100.0)


def test_near_the_ends_usage_is_carried_on_and_far_from_them_nothing_is_said():
    line = line_of([(0.0, 1000.0, False), (100.0, 41_000.0, False)])
    assert line.at(110.0) == pytest.approx(45_000.0)
    assert line.at(-1.0) == pytest.approx(600.0)
    assert isnan(line.at(100.0 + REACH_DAYS + 1))
    assert isnan(EMPTY.at(0.0))
    assert isnan(line_of([(0.0, 5.0, False)]).at(3.0))


def test_an_engine_that_moves_takes_its_usage_along_and_stands_still_between_trucks():
    one = line_of([(0.0, 1000.0, False), (100.0, 11_000.0, False)])
    two = line_of([(0.0, 500_000.0, False), (200.0, 540_000.0, False)])
    line = joined([(one, 0.0, 50.0), (two, 80.0, inf)])
    assert line.at(50.0) - line.at(0.0) == pytest.approx(5000.0)
    assert line.at(70.0) == pytest.approx(line.at(50.0))
    assert line.at(180.0) - line.at(80.0) == pytest.approx(20_000.0)


def test_a_truck_that_nobody_read_breaks_the_line():
    read = line_of([(100.0, 500.0, False), (200.0, 700.0, False)])
    line = joined([(EMPTY, 0.0, 90.0), (read, 90.0, inf)])
    assert isnan(line.at(20.0))
    assert line.at(200.0) - line.at(100.0) == pytest.approx(200.0)


@given(
    st.lists(st.tuples(st.floats(1, 500), st.floats(0, 2000)), min_size=1, max_size=20),
    st.integers(0, 19),
)
def test_wherever_the_meter_is_replaced_the_driven_way_is_the_same(steps, at):
    day, km, plain, swapped, off = 0.0, 0.0, [(0.0, 1e6, False)], [(0.0, 1e6, False)], 0.0
    for place, (days, driven) in enumerate(steps):
        day, km = day + days, km + driven
        plain.append((day, 1e6 + km, False))
        swapped.append((day, 1e6 + km - off, False))
        if place == at:
            off = 1e6 + km
            day += 1e-6
            swapped.append((day, 0.0, True))
    one, two = line_of(plain), line_of(swapped)
    assert two.run[-1] - two.run[0] == pytest.approx(one.run[-1] - one.run[0], abs=1.0)
