"""Every void condition: what sets it off, what just does not, and what it tells the technician."""

import pytest

from checks.measurement.assess import assess
from checks.measurement.specification import State
from checks.measurement.stroke import Phase
from checks.measurement.voids import CONDITIONS
from tests.measurement.judging import CURVE, codes, reading
from tests.measurement.making import (
    SETTING,
    certificate,
    gauge,
    good_stroke,
    instruments,
    opening,
    rise,
    specification,
    stroke,
)


def with_setting(stimulus: float):
    return stroke(*opening(), *rise(CURVE, setting=stimulus))


def test_a_stroke_by_the_book_is_not_void():
    result = assess(good_stroke(), specification(), instruments())
    assert (result.voids, result.state) == ((), State.INSIDE)


@pytest.mark.parametrize(("stimulus", "void"), [(197.9, True), (198.0, False), (202.0, False)])
def test_a_reading_below_the_capture_band_voids_it(stimulus, void):
    assert ("not_reached" in codes(with_setting(stimulus))) is void


@pytest.mark.parametrize(("stimulus", "void"), [(202.0, False), (202.1, True), (250.0, True)])
def test_an_overshoot_voids_the_reading(stimulus, void):
    approach = [reading(Phase.RISE, stimulus, CURVE(stimulus)), reading(Phase.SETTING, 200.0, CURVE(200.0))]
    assert ("overshoot" in codes(stroke(*opening(), *approach))) is void


def test_a_reading_made_above_the_band_is_an_overshoot_too():
    assert codes(with_setting(202.5)) == ["overshoot"]


def test_an_overshoot_cured_by_a_vent_and_a_new_rise_is_forgiven():
    bad = [reading(Phase.RISE, 230.0, CURVE(230.0)), reading(Phase.SETTING, 200.0, 1.6), reading(Phase.VENT, 0.0)]
    assert codes(stroke(*opening(), *bad, *rise(CURVE))) == []


def test_an_overshoot_beyond_the_certificate_cannot_hide():
    short = gauge(certificate=certificate((0, 0, 1), (205, 0, 1)))
    approach = [reading(Phase.RISE, 240.0, CURVE(240.0)), reading(Phase.SETTING, 200.0, CURVE(200.0))]
    assert "overshoot" in codes(stroke(*opening(), *approach), tools=instruments(short))


@pytest.mark.parametrize(("drop", "void"), [(0.0, False), (0.5, False), (0.6, True), (5.0, True)])
def test_a_fall_of_more_than_one_digit_during_the_approach_voids_it(drop, void):
    """The gauge of these tests shows 0.5 kPa."""
    approach = [reading(Phase.RISE, 180.0, CURVE(180.0)), reading(Phase.RISE, 180.0 - drop, CURVE(180.0))]
    made = stroke(*opening(), *approach, reading(Phase.SETTING, 200.0, CURVE(200.0)))
    assert ("pressure_fell" in codes(made)) is void


def test_small_falls_that_add_up_are_one_fall():
    steps = [reading(Phase.RISE, p, CURVE(180.0)) for p in (180.0, 179.7, 179.4, 179.1)]
    assert "pressure_fell" in codes(stroke(*opening(), *steps, reading(Phase.SETTING, 200.0, 1.5)))


@pytest.mark.parametrize(("cycles", "void"), [(0, True), (2, True), (3, False), (4, False)])
def test_too_few_exercise_cycles_void_it(cycles, void):
    assert ("exercise_short" in codes(good_stroke(cycles=cycles))) is void


@pytest.mark.parametrize(("back", "void"), [(0.03, False), (-0.03, False), (0.031, True), (-0.05, True)])
def test_a_dial_that_does_not_come_back_voids_it(back, void):
    assert ("no_zero_return" in codes(good_stroke(back_mm=back))) is void


@pytest.mark.parametrize(("back", "void"), [(1.0, False), (1.1, True), (-1.1, True)])
def test_a_pressure_that_does_not_come_back_voids_it(back, void):
    assert ("no_zero_return" in codes(good_stroke(back=back))) is void


def test_both_instruments_off_zero_are_two_reasons():
    assert codes(good_stroke(back=3.0, back_mm=0.1)).count("no_zero_return") == 2


def test_an_unrecorded_return_to_zero_is_no_return():
    made = stroke(*opening()[:-1], *rise(CURVE))
    assert codes(made) == ["no_zero_return"]


def test_a_specification_without_exercise_asks_for_no_return():
    made = stroke(opening()[0], *rise(CURVE))
    assert codes(made, specification(exercise_cycles=0)) == []


def test_a_vent_between_approaches_that_does_not_come_back_voids_it():
    made = stroke(*opening(), *rise(CURVE), reading(Phase.VENT, 0.0, 0.2), *rise(CURVE))
    assert codes(made) == ["no_zero_return"]


def test_every_void_says_what_was_wrong_and_what_to_repeat():
    wrong = stroke(
        reading(Phase.EXERCISE, 400.0, None), reading(Phase.RISE, 250.0, 2.0), reading(Phase.SETTING, 190.0, 1.4)
    )
    found = assess(wrong, specification(), instruments(gauge(certificate=None))).voids
    assert len(found) >= 6
    for void in found:
        assert void.sentence.endswith(".")
        assert void.repeat.endswith(".")
        assert void.sentence != void.repeat


def test_a_void_stroke_still_shows_its_travel_but_no_verdict():
    result = assess(with_setting(202.5), specification(), instruments())
    assert result.state is State.VOID
    assert result.travel_mm == pytest.approx(CURVE(SETTING), abs=0.02)
    assert (result.p_inside, result.p_below, result.p_above) == (None, None, None)
    assert result.advice.refusal_code == "void"


def test_every_condition_is_registered_once():
    assert len(set(CONDITIONS)) == len(CONDITIONS) == 10
