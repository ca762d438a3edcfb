"""The window strip shows where a reading lies, and says the same in a sentence."""

import xml.etree.ElementTree as ET

import pytest
from django.template import engines
from hypothesis import given
from hypothesis import strategies as st

from checks.components import STATE_WORDS, Reading, Window, window_strip

# The trade's check values, 0.038, 0.059 and 0.080 in and a reading of 0.0595 in: common practice, no source.
WINDOW = Window(lower_mm=0.9652, nominal_mm=1.4986, upper_mm=2.032)
READING = Reading(state="inside", travel_mm=1.5113, expanded_mm=0.034)


def drawn(strip):
    """The strip's markup as a tree, so that a broken tag fails the test."""
    text = engines["django"].from_string("{% load parts %}{% window_strip strip %}").render({"strip": strip})
    return ET.fromstring(text)


@given(
    lower=st.floats(0, 20),
    width=st.floats(0.05, 20),
    share=st.floats(0.05, 0.95),
)
def test_the_window_always_spans_the_same_middle_half(lower, width, share):
    strip = window_strip(Window(lower_mm=lower, nominal_mm=lower + share * width, upper_mm=lower + width))
    assert (strip.size.band_x, strip.size.band_end) == (55, 165)
    assert strip.nominal_x == pytest.approx(55 + 110 * share, abs=0.02)


def test_a_reading_stands_where_its_travel_says():
    (mark,) = window_strip(WINDOW, [READING]).readings
    # By hand: (1.5113 - 0.9652) / (2.032 - 0.9652) = 0.51190, and 55 + 110 * 0.51190 = 111.31.
    assert mark.x == pytest.approx(111.31, abs=0.01)
    assert mark.whisker == (pytest.approx(107.80, abs=0.01), pytest.approx(114.82, abs=0.01))
    assert mark.beyond == 0


@given(travel=st.floats(-50, 50), expanded=st.floats(0, 30))
def test_nothing_is_drawn_off_the_strip(travel, expanded):
    strip = window_strip(WINDOW, [Reading(state="undecided", travel_mm=travel, expanded_mm=expanded)])
    (mark,) = strip.readings
    assert strip.size.margin <= mark.x <= strip.size.far_end
    if mark.whisker:
        assert strip.size.margin <= mark.whisker[0] <= mark.whisker[1] <= strip.size.far_end


@pytest.mark.parametrize(("travel", "side"), [(0.1, -1), (3.4, 1), (1.5, 0)])
def test_a_reading_beyond_the_strip_clips_with_an_arrow(travel, side):
    strip = window_strip(WINDOW, [Reading(state="outside_low", travel_mm=travel, expanded_mm=0.03)])
    assert strip.readings[0].beyond == side
    arrows = drawn(strip).findall(".//path[@class='line']")
    assert len(arrows) == abs(side)


def test_as_found_is_hollow_and_as_left_filled_and_neither_hides_the_other():
    left = Reading(state="inside", travel_mm=1.5, expanded_mm=0.03, moment="as_left")
    strip = window_strip(WINDOW, [READING, left])
    found, set_ = strip.readings
    assert (found.hollow, set_.hollow) == (True, False)
    assert found.y < strip.size.middle_y < set_.y
    assert len(drawn(strip).findall(".//circle[@class='hollow']")) == 1


def test_the_sentence_says_what_the_picture_shows():
    strip = window_strip(WINDOW, [READING])
    wanted = "As found 1.511 ± 0.034 mm, inside; window 0.965 to 2.032 mm, nominal 1.499 mm."
    picture = drawn(strip)
    assert (picture.get("role"), picture.get("aria-label")) == ("img", wanted)
    assert picture.find("title").text == wanted


def test_a_viewer_reads_the_strip_in_their_own_unit():
    sentence = window_strip(WINDOW, [READING], unit="thou").sentence
    assert sentence == "As found 59.5 ± 1.3 thou, inside; window 38.0 to 80.0 thou, nominal 59.0 thou."


def test_no_check_and_no_travel_are_said_and_draw_no_mark():
    never, lost = window_strip(WINDOW), window_strip(WINDOW, [Reading(state="void", travel_mm=None)])
    assert never.sentence.startswith("Never checked;")
    assert lost.sentence.startswith("As found no travel, void;")
    assert never.readings == lost.readings == ()


@pytest.mark.parametrize("size", ["row", "large"])
def test_the_strip_carries_no_style_that_the_policy_would_refuse(size):
    for element in drawn(window_strip(WINDOW, [READING], size=size)).iter():
        assert "style" not in element.attrib
        assert element.tag != "style"


def test_every_state_has_a_mark_of_its_own_shape():
    template = engines["django"].from_string("{% load parts %}{% state_word state %}")
    marks = {}
    for state, word in STATE_WORDS.items():
        part = ET.fromstring(template.render({"state": state}))
        assert "".join(part.itertext()).strip() == word
        marks[state] = tuple(tuple(sorted(shape.attrib.items())) for shape in part.find("svg"))
    assert len(set(marks.values())) == len(STATE_WORDS)
