"""Every void condition: what sets it off, what just does not, and what it tells the technician."""

from dataclasses import replace
from datetime import date

import pytest

from checks.measurement.assess import assess
from checks.measurement.specification import State, Stimulus
from checks.measurement.stroke import Phase, Reading
from checks.measurement.voids import CONDITIONS
from tests.measurement.making import (
    SETTING,
    certificate,
    command_tool,
    dial,
    gauge,
    good_stroke,
    instruments,
    meter,
    opening,
    rise,
    specification,
    straight,
    stroke,
    transducer,
)

LAPSED = certificate((0, 0, 0.5), (400, 0, 0.5), due=date(2026, 5, 31))
TOO_NEW = certificate((0, 0, 0.01), (10, 0, 0.01), issued=date(2026, 6, 2))
CURVE = straight()


def reading(phase: Phase, stimulus: float, travel: float | None = 0.0, **more: float) -> Reading:
    return Reading(phase=phase, stimulus=stimulus, travel_mm=travel, **more)


def codes(made, spec=None, tools=None) -> list[str]:
    return [void.code for void in assess(made, spec or specification(), tools or instruments()).voids]


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


@pytest.mark.parametrize(
    ("tools", "named"),
    [
        (instruments(travel=dial(certificate=TOO_NEW)), "DI-1"),
        (instruments(travel=dial(certificate=None)), "DI-1"),
        (instruments(gauge(certificate=LAPSED)), "PG-1"),
        (instruments(gauge(certificate=None)), "PG-1"),
        (instruments(transducer(certificate=None)), "PT-1"),
        (instruments(transducer(meter=meter(certificate=None))), "MM-1"),
        (instruments(transducer(meter=meter(certificate=replace(LAPSED, due=date(2026, 5, 1))))), "MM-1"),
    ],
)  # fmt: skip
def test_an_instrument_out_of_calibration_voids_it_and_is_named(tools, named):
    scale = (lambda p: p * 0.25 + 1.0) if tools.stimulus.meter else (lambda p: p)
    readings = tuple(replace(r, stimulus=scale(r.stimulus)) for r in good_stroke().readings)
    made = stroke(*readings)
    voids = assess(made, specification(), tools).voids
    assert [void.code for void in voids] == ["out_of_calibration"]
    assert named in voids[0].sentence


@pytest.mark.parametrize(
    ("on", "void"),
    [(date(2025, 12, 31), True), (date(2026, 1, 1), False), (date(2027, 1, 1), False), (date(2027, 1, 2), True)],
)
def test_the_first_and_the_last_day_of_a_certificate_count(on, void):
    made = stroke(*opening(), *rise(CURVE), made_on=on)
    assert ("out_of_calibration" in codes(made)) is void


def electric_stroke():
    readings = [
        *opening()[:1],
        *[reading(Phase.EXERCISE, 80.0, None)] * 3,
        reading(Phase.ZERO_RETURN, 0.0),
        reading(Phase.RISE, 40.0, 0.9),
        reading(Phase.RISE, 50.0, 1.2),
        reading(Phase.SETTING, 60.0, 1.5),
    ]
    return stroke(*readings)


ELECTRIC = specification(stimulus=Stimulus.ELECTRIC, setting=60.0, stimulus_max=100.0, capture_tolerance=0.5)


def test_a_command_tool_needs_no_certificate_but_a_lapsed_one_counts():
    assert codes(electric_stroke(), ELECTRIC, instruments(command_tool())) == []
    lapsed = command_tool(certificate=certificate((0, 0, 0.2), (100, 0, 0.2), due=date(2026, 5, 1)))
    assert codes(electric_stroke(), ELECTRIC, instruments(lapsed)) == ["out_of_calibration"]


@pytest.mark.parametrize("phase", [Phase.EXERCISE, Phase.FALL, Phase.HOLD, Phase.RISE])
def test_the_maximum_exceeded_in_any_phase_voids_it_and_flags_the_unit(phase):
    more = {"seconds": 0.0} if phase is Phase.HOLD else {}
    made = stroke(*opening(), reading(phase, 301.0, 2.0, **more), reading(Phase.VENT, 0.0), *rise(CURVE))
    first = assess(made, specification(), instruments()).voids[0]
    assert (first.code, first.unsafe) == ("above_maximum", True)


def test_the_maximum_itself_is_allowed():
    cycles = [reading(Phase.EXERCISE, 300.0, None)] * 3
    made = stroke(reading(Phase.ZERO, 0.0), *cycles, reading(Phase.ZERO_RETURN, 0.0), *rise(CURVE))
    assert codes(made) == []


def test_a_peak_beyond_the_instrument_still_flags_the_unit():
    made = stroke(*opening(), reading(Phase.EXERCISE, 900.0, None), *rise(CURVE))
    assert "above_maximum" in codes(made)


def test_a_peak_read_on_a_transducer_is_compared_in_kilopascals():
    """81 mV is (81 - 1) / 0.25 = 320 kPa."""
    readings = [replace(r, stimulus=r.stimulus * 0.25 + 1.0) for r in good_stroke().readings]
    made = stroke(reading(Phase.EXERCISE, 81.0, None), *readings)
    assert codes(made, tools=instruments(transducer())) == ["above_maximum"]


def test_without_a_zero_there_is_no_travel_at_all():
    result = assess(stroke(*opening()[1:], *rise(CURVE)), specification(), instruments())
    assert (result.voids[0].code, result.travel_mm, result.budget, result.acceptance) == ("no_zero", None, (), None)


def test_without_a_reading_at_the_setting_there_is_no_travel():
    result = assess(stroke(*opening(), *rise(CURVE)[:-1]), specification(), instruments())
    assert ([void.code for void in result.voids], result.travel_mm) == (["no_setting_reading"], None)


def test_an_empty_stroke_is_void_for_every_step_it_lacks():
    assert codes(stroke()) == ["no_zero", "exercise_short", "no_setting_reading"]


def test_a_reading_outside_the_calibrated_range_is_void_and_not_extrapolated():
    short = gauge(certificate=certificate((0, 0, 1), (190, 0, 1)))
    result = assess(good_stroke(), specification(), instruments(short))
    assert ([void.code for void in result.voids], result.travel_mm) == (["outside_calibrated_range"], None)


def test_a_travel_beyond_the_dial_is_void():
    result = assess(good_stroke(), specification(), instruments(travel=dial(range_mm=1.0)))
    assert "outside_calibrated_range" in [void.code for void in result.voids]


def test_a_zero_the_meter_is_not_calibrated_for_is_void_and_still_guards_the_actuator():
    tools = instruments(transducer(offset=10.0, meter=meter(certificate=certificate((20, 0, 0.02), (200, 0, 0.02)))))
    readings = [replace(r, stimulus=r.stimulus * 0.25 + 10.0) for r in good_stroke().readings]
    made = stroke(*readings, reading(Phase.EXERCISE, 90.0, None))
    found = codes(made, tools=tools)
    assert "outside_calibrated_range" in found
    assert "above_maximum" in found


def test_rising_readings_outside_the_certificate_are_left_out_and_counted():
    high_only = gauge(certificate=certificate((120, 0, 1), (400, 0, 1)))
    result = assess(good_stroke(), specification(), instruments(high_only))
    assert result.state is State.INSIDE
    assert [phase for phase, _, _ in result.features.points].count("rise") == 5
    assert any("1 reading(s)" in warning for warning in result.warnings)


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
