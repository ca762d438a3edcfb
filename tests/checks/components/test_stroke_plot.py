"""The stroke plot: where things are drawn, and the sentence that says the same."""

from itertools import pairwise

import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from checks.components.stroke_plot import StrokeFrame, StrokePlot, StrokePoint, stroke_plot

FRAME = StrokeFrame(setting=213.7, stimulus_max=296.5, lower_mm=0.965, nominal_mm=1.499, upper_mm=2.032)
RISE = [StrokePoint("rise", 150.0, 0.1), StrokePoint("rise", 200.0, 1.2), StrokePoint("setting", 213.7, 1.51)]


def plot(points: list[StrokePoint], stimulus_unit: str = "psi", length_unit: str = "in") -> StrokePlot:
    return stroke_plot(FRAME, points, stimulus_unit=stimulus_unit, length_unit=length_unit)


def test_the_window_stands_at_the_setting_and_the_maximum_beyond_it() -> None:
    drawn = plot([])
    assert drawn.left < drawn.setting_x < drawn.maximum_x < drawn.right
    assert drawn.upper_y < drawn.nominal_y < drawn.lower_y < drawn.bottom


def test_a_reading_at_nominal_and_setting_is_drawn_where_they_cross() -> None:
    mark = plot([StrokePoint("setting", 213.7, 1.499)]).marks[0]
    drawn = plot([StrokePoint("setting", 213.7, 1.499)])
    assert (mark.x, mark.y) == (drawn.setting_x, drawn.nominal_y)


def test_the_same_stroke_is_drawn_the_same_in_any_unit() -> None:
    assert plot(RISE, "psi", "in").marks == plot(RISE, "kPa", "mm").marks == plot(RISE, "bar", "thou").marks


def test_a_vented_approach_is_set_apart_and_not_joined() -> None:
    drawn = plot([StrokePoint("rise", 230.0, 1.8, past=True), *RISE])
    assert drawn.marks[0].look == "past"
    assert drawn.rise_path.count("L") == 2
    assert drawn.sentence.startswith("3 readings")


def test_the_way_back_begins_at_the_last_rising_point() -> None:
    drawn = plot([*RISE, StrokePoint("fall", 190.0, 1.3)])
    last = drawn.marks[2]
    assert drawn.fall_path.startswith(f"M{last.x} {last.y}L")


@pytest.mark.parametrize("unit", ["kPa", "psi", "bar"])
def test_ticks_are_round_and_evenly_spaced(unit: str) -> None:
    ticks = plot(RISE, unit).x_ticks
    steps = {round(float(b.text) - float(a.text), 6) for a, b in pairwise(ticks)}
    assert 3 <= len(ticks) <= 8
    assert len(steps) == 1
    assert f"{steps.pop():e}"[0] in "125"


@given(st.floats(-5, 500), st.floats(-2, 100))
def test_no_reading_is_drawn_outside_the_plot(stimulus: float, travel: float) -> None:
    drawn = plot([StrokePoint("rise", stimulus, travel)])
    assert drawn.left <= drawn.marks[0].x <= drawn.right
    assert drawn.top <= drawn.marks[0].y <= drawn.bottom


def test_the_picture_has_its_sentence_and_no_style_of_its_own() -> None:
    drawn = plot(RISE)
    svg = render_to_string("checks/components/stroke_plot.html", {"plot": drawn})
    assert drawn.sentence == (
        "3 readings, the last one at the setting at 30.99 psi and 0.0594 in; "
        "setting 30.99 psi, window 0.0380 to 0.0800 in, maximum 43.00 psi."
    )
    assert svg.count(drawn.sentence) == 2
    assert "style=" not in svg


def test_an_empty_stroke_says_so() -> None:
    assert plot([]).sentence.startswith("No reading of this rise yet; setting 30.99 psi")
