"""A truck's own rate of use, from its odometer."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from checks.rules.recheck.rate import LEAST_KM_PER_DAY, use_of
from checks.rules.recheck.unit import Use

START = date(2025, 1, 1)


def steady(rate: float, days: range) -> list[tuple[date, float]]:
    return [(START + timedelta(days=day), 100_000 + rate * day) for day in days]


def test_a_steady_truck_runs_at_its_rate():
    use = use_of(steady(420.0, range(0, 91, 7)), fallback_km_per_day=350)
    assert (use.km_per_day, use.source, use.odometer_km) == (pytest.approx(420.0), "truck", 100_000 + 420 * 84)


def test_one_mistyped_reading_does_not_move_the_rate():
    readings = steady(420.0, range(0, 91, 7))
    readings[5] = (readings[5][0], readings[5][1] + 90_000)
    assert use_of(readings, fallback_km_per_day=350).km_per_day == pytest.approx(420.0)


def test_only_the_last_90_days_count():
    old = steady(50.0, range(0, 300, 10))
    last_on, last_km = old[-1]
    new = [(last_on + timedelta(days=day), last_km + 600 * day) for day in range(10, 101, 10)]
    assert use_of(old + new, fallback_km_per_day=350).km_per_day == pytest.approx(600.0)


def test_too_little_known_falls_back_to_the_fleets_rate():
    assert use_of([], fallback_km_per_day=350) == Use(km_per_day=350, source="fleet")
    two_days = use_of(steady(900.0, range(2)), fallback_km_per_day=350)
    assert (two_days.km_per_day, two_days.source, two_days.odometer_km) == (350, "fleet", 100_900)


def test_a_parked_truck_still_comes_due():
    use = use_of(steady(0.0, range(0, 80, 10)), fallback_km_per_day=350)
    assert use.km_per_day == LEAST_KM_PER_DAY
    assert use.day_of(200_000) == use.on + timedelta(days=36_500)


def test_a_limit_already_passed_lies_in_the_past():
    use = Use(km_per_day=100.0, source="truck", odometer_km=10_000, on=START)
    assert use.day_of(9_000) == START - timedelta(days=10)


@given(
    st.lists(st.integers(min_value=0, max_value=900), min_size=4, max_size=7),
)
def test_the_rate_is_the_theil_sen_slope(steps):
    """Against scipy.stats.theilslopes, where every pair lies at least 14 days apart."""
    days = [14 * place for place in range(len(steps))]
    odometer = [100_000 + sum(steps[: place + 1]) for place in range(len(steps))]
    readings = [(START + timedelta(days=day), km) for day, km in zip(days, odometer, strict=True)]
    within = [place for place, day in enumerate(days) if days[-1] - day <= 90]
    expected = theilslopes([odometer[i] for i in within], [days[i] for i in within]).slope
    assert use_of(readings, fallback_km_per_day=1).km_per_day == pytest.approx(max(expected, LEAST_KM_PER_DAY))


def test_a_rate_has_the_spread_of_its_stretches():
    steps = [300.0] * 3 + [500.0] * 3
    days = [15 * n for n in range(7)]
    km = [sum(15 * step for step in steps[:n]) for n in range(7)]
    use = use_of([(START + timedelta(days=d), v) for d, v in zip(days, km, strict=True)], fallback_km_per_day=350)
    assert 300.0 <= use.slow_km_per_day < use.km_per_day < use.fast_km_per_day <= 500.0
    steady_use = use_of(steady(420.0, range(0, 91, 7)), fallback_km_per_day=350)
    assert steady_use.slow_km_per_day == pytest.approx(steady_use.fast_km_per_day)
