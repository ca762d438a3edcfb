"""Taking a stroke apart into the steps of the procedure."""

import pytest

from checks.measurement.errors import MeasurementError
from checks.measurement.stroke import (
    Phase,
    PooledSlope,
    Reading,
    StudyFigures,
    require_pooled_slope,
    require_study,
    take_apart,
)
from tests.measurement.making import opening, rise, straight, stroke

VENT = Reading(phase=Phase.VENT, stimulus=0.0, travel_mm=0.0)


def test_a_plain_stroke_has_one_approach_with_its_reading():
    parts = take_apart(stroke(*opening(), *rise(straight())))
    assert len(parts.approaches) == 1
    assert len(parts.approaches[0].rise) == 6
    assert parts.approaches[0].reading.stimulus == 200.0
    assert (len(parts.exercise), parts.zero.stimulus, parts.zero_return.stimulus) == (3, 0.0, 0.0)


def test_every_vent_starts_a_new_approach():
    parts = take_apart(stroke(*opening(), *rise(straight()), VENT, *rise(straight()), VENT, *rise(straight())))
    assert [len(approach.rise) for approach in parts.approaches] == [6, 6, 6]


def test_a_vent_at_the_end_of_work_starts_nothing():
    parts = take_apart(stroke(*opening(), *rise(straight()), VENT))
    assert len(parts.approaches) == 1


def test_a_rise_after_the_last_vent_without_a_reading_is_the_approach_that_counts():
    parts = take_apart(stroke(*opening(), *rise(straight()), VENT, *rise(straight())[:-1]))
    assert parts.approaches[-1].reading is None


def test_a_second_reading_without_a_vent_belongs_to_the_same_approach():
    parts = take_apart(stroke(*opening(), *rise(straight()), *rise(straight(), (), 201.0)))
    assert len(parts.approaches) == 1
    assert parts.approaches[0].reading.stimulus == 201.0
    assert len(parts.approaches[0].rise) == 7  # the first reading at the setting is now on the way


def test_what_rises_after_the_reading_belongs_to_no_approach():
    beyond = Reading(phase=Phase.RISE, stimulus=230.0, travel_mm=2.0)
    parts = take_apart(stroke(*opening(), *rise(straight()), beyond))
    assert 230.0 not in [reading.stimulus for reading in parts.approaches[0].rise]


def test_the_last_zero_and_the_last_return_count():
    again = [
        Reading(phase=Phase.ZERO, stimulus=1.0, travel_mm=0.1),
        Reading(phase=Phase.ZERO_RETURN, stimulus=2.0, travel_mm=0.2),
    ]
    parts = take_apart(stroke(*opening(), *again, *rise(straight())))
    assert (parts.zero.stimulus, parts.zero_return.stimulus) == (1.0, 2.0)


def test_nothing_done_is_nothing_found():
    parts = take_apart(stroke())
    assert (parts.zero, parts.zero_return, parts.approaches, parts.exercise) == (None, None, (), ())


@pytest.mark.parametrize(
    ("reading", "code", "field"),
    [
        (Reading(phase=Phase.SETTING, stimulus=float("nan"), travel_mm=1.0), "not_a_number", "stimulus"),
        (Reading(phase=Phase.SETTING, stimulus=float("inf"), travel_mm=1.0), "not_a_number", "stimulus"),
        (Reading(phase=Phase.RISE, stimulus=1e9, travel_mm=1.0), "out_of_bounds", "stimulus"),
        (Reading(phase=Phase.RISE, stimulus=1.0, travel_mm=float("nan")), "not_a_number", "travel_mm"),
        (Reading(phase=Phase.RISE, stimulus=1.0, travel_mm=1e9), "out_of_bounds", "travel_mm"),
        (Reading(phase=Phase.RISE, stimulus=1.0, travel_mm=-11.0), "out_of_bounds", "travel_mm"),
        (Reading(phase=Phase.ZERO, stimulus=0.0), "missing_travel", "travel_mm"),
        (Reading(phase=Phase.SETTING, stimulus=200.0), "missing_travel", "travel_mm"),
        (Reading(phase=Phase.HOLD, stimulus=200.0), "missing_seconds", "seconds"),
        (Reading(phase=Phase.HOLD, stimulus=200.0, seconds=-1.0), "out_of_bounds", "seconds"),
    ],
)
def test_a_reading_that_cannot_be_one_is_refused_by_field(reading, code, field):
    with pytest.raises(MeasurementError) as caught:
        take_apart(stroke(reading))
    assert (caught.value.code, caught.value.field) == (code, field)


def test_an_exercise_peak_needs_no_travel():
    assert take_apart(stroke(Reading(phase=Phase.EXERCISE, stimulus=210.0))).exercise[0].travel_mm is None


@pytest.mark.parametrize("slope", [-0.1, float("nan"), float("inf")])
def test_a_pooled_slope_must_be_a_rise(slope):
    with pytest.raises(MeasurementError):
        require_pooled_slope(PooledSlope(slope=slope, spread=0.01, count=5))


@pytest.mark.parametrize(
    "field", ["repeatability_mm", "repeatability_dof", "reproducibility_mm", "reproducibility_dof"]
)
@pytest.mark.parametrize("value", [-1.0, float("nan")])
def test_study_figures_must_be_possible(field, value):
    figures = {"repeatability_mm": 0.01, "repeatability_dof": 9, "reproducibility_mm": 0.01, "reproducibility_dof": 2}
    with pytest.raises(MeasurementError) as caught:
        require_study(StudyFigures(**{**figures, field: value}))
    assert caught.value.field == field
