"""What a hold says beside the verdict. How much a sound canister may lose: common practice, no source."""

import pytest

from checks.measurement.assess import assess
from checks.measurement.remarks import LEAK_SHARE
from checks.measurement.specification import State
from checks.measurement.stroke import Phase, Reading
from tests.measurement.making import SETTING, instruments, opening, rise, specification, straight, stroke

SOUND = LEAK_SHARE * SETTING


def after_a_hold(lost_kpa_per_min, minutes=2.0):
    held = [
        Reading(phase=Phase.HOLD, stimulus=190.0 - lost_kpa_per_min * t, seconds=60.0 * t)
        for t in (0.0, 0.5 * minutes, minutes)
    ]
    return assess(stroke(*opening(), *rise(straight()), *held), specification(), instruments())


def test_a_leaking_canister_is_told_beside_a_travel_that_is_inside():
    found = after_a_hold(13.0)
    assert found.state is State.INSIDE
    [told] = found.warnings
    assert told.startswith("It leaks: 13.00 kPa a minute were lost with the supply closed")


@pytest.mark.parametrize("lost", [0.0, 0.4, SOUND])
def test_a_canister_that_holds_is_not_spoken_of(lost):
    assert after_a_hold(lost).warnings == ()


def test_a_loss_within_what_the_readings_can_be_wrong_is_not_called_a_leak():
    """Watched for a second, 1.05 times the loss that is allowed drowns in the reading of the gauge."""
    assert after_a_hold(1.05 * SOUND, minutes=1 / 60).warnings == ()


def test_a_pressure_that_rises_in_the_hold_had_its_supply_open():
    [told] = after_a_hold(-5.0).warnings
    assert told.startswith("The pressure rose during the hold, so the supply was not closed")


def test_the_verdict_is_the_same_with_and_without_a_leak():
    assert (after_a_hold(13.0).travel_mm, after_a_hold(13.0).p_inside) == (
        after_a_hold(0.0).travel_mm,
        after_a_hold(0.0).p_inside,
    )
