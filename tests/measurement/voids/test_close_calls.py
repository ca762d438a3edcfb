"""What looks like a broken procedure and is none, and what looks whole and is not."""

import pytest

from checks.measurement.assess import assess
from checks.measurement.stroke import Phase, Reading
from tests.measurement.judging import CURVE, codes, reading
from tests.measurement.making import (
    certificate,
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


def _exercised(*peaks: float) -> list[Reading]:
    cycles = [reading(Phase.EXERCISE, peak, None) for peak in peaks]
    return [reading(Phase.ZERO, 0.0), *cycles, reading(Phase.ZERO_RETURN, 0.0)]


@pytest.mark.parametrize(("peak", "void"), [(0.0, True), (99.0, True), (100.0, False), (195.0, False)])
def test_a_cycle_that_leaves_the_rod_at_rest_is_no_exercise(peak, void):
    """Exercise goes through the stroke: common practice, no source; half the setting is where we draw the line."""
    assert codes(stroke(*_exercised(210.0, 210.0, peak), *rise(CURVE))) == (["exercise_short"] if void else [])


def test_what_is_done_after_the_reading_prepared_nothing():
    """Order of the work: zero, exercise, return, rise (common practice, no source)."""
    zero, back = reading(Phase.ZERO, 0.0), reading(Phase.ZERO_RETURN, 0.0)
    cycles = [reading(Phase.EXERCISE, 210.0, None)] * 3
    assert codes(stroke(zero, back, *rise(CURVE), *cycles)) == ["exercise_short"]
    assert codes(stroke(*cycles, back, *rise(CURVE), zero)) == ["no_zero"]
    assert codes(stroke(zero, back, *cycles, *rise(CURVE))) == ["no_zero_return"]


def test_a_vent_after_late_exercise_is_a_return_to_zero():
    late = [reading(Phase.EXERCISE, 210.0, None), reading(Phase.VENT, 0.0)]
    assert codes(stroke(*opening(), *late, *rise(CURVE))) == []


def test_pressure_trapped_between_approaches_counts_where_no_exercise_is_asked_for():
    first = [reading(Phase.ZERO, 0.0), reading(Phase.RISE, 150.0, CURVE(150.0)), reading(Phase.VENT, 5.0)]
    assert codes(stroke(*first, *rise(CURVE)), specification(exercise_cycles=0)) == ["no_zero_return"]


def test_a_fall_within_an_approach_voids_it_though_the_rise_alone_looks_steady():
    begun = [reading(Phase.RISE, p, CURVE(p)) for p in (150.0, 180.0)]
    made = [*opening(), *begun, reading(Phase.FALL, 120.0, 0.0), *rise(CURVE, stimuli=(185.0, 190.0, 195.0))]
    assert codes(stroke(*made)) == ["pressure_fell"]
    vented = [*opening(), *begun, reading(Phase.FALL, 120.0, 0.0), reading(Phase.VENT, 0.0), *rise(CURVE)]
    assert codes(stroke(*vented)) == []


def test_one_digit_down_is_a_flicker_whatever_the_certificate_says():
    """A certificate whose error falls by 1 % stretches a digit of 0.5 kPa to 0.505 kPa."""
    tool = gauge(certificate=certificate((0, 0, 1), (200, -2, 1), (400, -4, 1)))
    for drop, expected in ((0.5, []), (1.0, ["pressure_fell"])):
        stimuli = (100.0, 150.0, 180.0, 180.0 - drop, 190.0)
        assert codes(stroke(*opening(), *rise(CURVE, stimuli, setting=198.0)), tools=instruments(tool)) == expected


# A multimeter's certificate begins at zero, or above it; a vented transducer shows a little of either sign.
FROM_TEN = certificate((10, 0, 0.02), (100, 0, 0.02))
FOUR_TO_TWENTY = certificate((4, 0, 0.002), (12, 0, 0.002), (20, 0, 0.002))


@pytest.mark.parametrize(
    ("tool", "vented", "returned"),
    [
        (transducer(offset=0.0), -0.02, -0.02),
        (transducer(offset=0.0), 0.0, -0.02),
        (transducer(offset=0.0, meter=meter(certificate=FROM_TEN)), 0.3, 0.3),
        (
            transducer(sensitivity=0.04, offset=4.0, meter=meter(electrical_unit="mA", certificate=FOUR_TO_TWENTY)),
            3.98,
            3.97,
        ),
    ],
)
def test_a_vented_transducer_a_little_off_its_zero_is_no_fault(tool, vented, returned):
    def shown(p: float) -> float:
        return vented + tool.sensitivity * p

    rising = [reading(r.phase, shown(r.stimulus), r.travel_mm) for r in rise(CURVE)]
    cycles = [reading(Phase.EXERCISE, shown(210.0), None)] * 3
    made = stroke(reading(Phase.ZERO, vented), *cycles, reading(Phase.ZERO_RETURN, returned), *rising)
    result = assess(made, specification(), instruments(tool))
    assert (result.voids, result.warnings) == ((), ())
    assert result.travel_mm == pytest.approx(CURVE(200.0))


def test_a_dial_a_little_below_its_zero_keeps_its_curve():
    low = [reading(r.phase, r.stimulus, (r.travel_mm or 0.0) - 0.02) for r in (*opening(), *rise(CURVE))]
    result = assess(stroke(*low), specification(), instruments())
    assert (result.voids, result.warnings, result.slope_source) == ((), (), "curve")


def test_a_return_far_outside_the_certificate_voids_and_does_not_refuse():
    tool = transducer(offset=0.0)
    rising = [reading(r.phase, 0.25 * r.stimulus, r.travel_mm) for r in rise(CURVE)]
    cycles = [reading(Phase.EXERCISE, 52.5, None)] * 3
    made = stroke(reading(Phase.ZERO, 0.0), *cycles, reading(Phase.ZERO_RETURN, -9.0), *rising)
    assert codes(made, tools=instruments(tool)) == ["outside_calibrated_range"]


def test_a_certificate_of_one_point_far_away_says_nothing_of_a_small_travel():
    far = dial(certificate=certificate((10.0, 0.02, 0.006)))
    assert codes(good_stroke(straight(0.015)), tools=instruments(travel=far)) == ["outside_calibrated_range"]
