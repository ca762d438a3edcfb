"""Void conditions of the actuator and its instruments: the maximum, ranges, certificates, readings that lack."""

from dataclasses import replace
from datetime import date

import pytest

from checks.measurement.assess import assess
from checks.measurement.specification import State, Stimulus
from checks.measurement.stroke import Phase
from tests.measurement.judging import CURVE, codes, reading
from tests.measurement.making import (
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
    stroke,
    transducer,
)

LAPSED = certificate((0, 0, 0.5), (400, 0, 0.5), due=date(2026, 5, 31))
TOO_NEW = certificate((0, 0, 0.01), (10, 0, 0.01), issued=date(2026, 6, 2))


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
