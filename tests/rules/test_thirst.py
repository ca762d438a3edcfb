"""A truck's thirst against its own past."""

import numpy as np
import pytest

from checks.rules.thirst import LEAST_MONTHS, monthly_alarm, thirst_now

SPREAD = 0.01


def trucks(rng, count, months=24):
    return np.repeat(np.arange(count), months), rng.normal(0.0, SPREAD, count * months) + np.repeat(
        rng.normal(3.5, 0.1, count), months
    )


def test_a_truck_that_stays_as_it_was_is_seldom_called_thirsty():
    """Once in fifty trucks over a year and a half, level and spread learnt from the same few months."""
    truck, value = trucks(np.random.default_rng(1), 2000)
    found = monthly_alarm(value, truck)
    assert (np.bincount(truck[found.alarm], minlength=2000) > 0).mean() < 0.02


@pytest.mark.parametrize(("shift", "within"), [(0.02, 8), (0.04, 3), (0.065, 2)])
def test_a_rise_is_told_within_months_and_dated(shift, within):
    truck, value = trucks(np.random.default_rng(2), 400)
    rises = np.tile(np.arange(24), 400) >= 12
    found = monthly_alarm(value + shift * rises, truck)
    alarm = found.alarm.reshape(400, 24)
    assert np.median(np.where(alarm.any(axis=1), alarm.argmax(axis=1), 99)) <= 12 + within
    begun = found.begun.reshape(400, 24)[:, -1] % 24
    assert np.median(np.abs(begun[alarm[:, -1]] - 12)) <= 1


def test_what_it_uses_more_lies_within_its_limits_as_often_as_stated():
    truck, value = trucks(np.random.default_rng(3), 1500)
    value += 0.05 * (np.tile(np.arange(24), 1500) >= 14)
    inside = []
    for own in np.split(np.arange(len(value)), 1500):
        said = thirst_now(value[own], monthly_alarm(value[own], truck[own]))
        inside.append(said is not None and said.low < 0.05 < said.high)
    assert 0.90 < np.mean(inside) < 0.98


def test_a_repair_that_lowers_the_level_lets_the_next_rise_be_told():
    rng = np.random.default_rng(4)
    value = 3.5 + rng.normal(0, SPREAD, 30)
    value[:8] += 0.06
    value[20:] += 0.05
    found = monthly_alarm(value, np.zeros(30, int))
    assert not found.alarm[:20].any()
    assert found.alarm[23:].all()
    assert abs(found.level[-1] - 3.5) < 0.01


def test_the_alarm_ends_soon_after_the_cause_is_gone():
    value = 3.5 + np.random.default_rng(7).normal(0, SPREAD / 2, 30)
    value[10:18] += 0.06
    found = monthly_alarm(value, np.zeros(30, int))
    assert found.alarm[12:18].all()
    assert not found.alarm[20:].any()
    assert abs(found.level[-1] - 3.5) < 0.01


def test_trucks_do_not_touch_each_other_and_few_months_say_nothing():
    truck, value = trucks(np.random.default_rng(6), 5)
    both, alone = monthly_alarm(value, truck), monthly_alarm(value[24:48], truck[24:48])
    assert both.high[24:48] == pytest.approx(alone.high)
    few = monthly_alarm(value[: LEAST_MONTHS - 1], truck[: LEAST_MONTHS - 1])
    assert np.isnan(few.level).all()
    assert thirst_now(value[:3], monthly_alarm(value[:3], truck[:3])) is None
    assert not len(monthly_alarm(value[:0], truck[:0]).high)
