"""The verdict in one sentence."""

import pytest

from checks.measurement.assess import assess
from checks.measurement.sentences import verdict_sentence
from tests.measurement.making import good_stroke, instruments, specification, straight, stroke


def said(made) -> str:
    return verdict_sentence(assess(made, specification(), instruments()), specification())


@pytest.mark.parametrize(
    ("slope", "words"),
    [
        (0.025, "inside the window (more than 99.9 % chance"),
        (0.01, "outside the window, below its lower limit (less than 0.1 % chance"),
        (0.04, "outside the window, above its upper limit"),
        (1.0 / 60.0, "too close to a limit for these instruments to decide"),
    ],
)
def test_a_verdict_names_travel_doubt_window_and_chance(slope, words):
    sentence = said(good_stroke(straight(slope)))
    assert words in sentence
    assert sentence.startswith(f"Travel {60.0 * slope:.3f} mm ± ")
    assert "1.000 to 2.000 mm" in sentence


def test_a_chance_in_between_is_given_in_per_cent():
    assert "% chance of being inside)." in said(good_stroke(straight(0.0175)))


def test_a_void_stroke_says_why_first():
    assert said(good_stroke(cycles=2)) == "Void, so there is no verdict: The actuator was exercised 2 of 3 times."


def test_further_reasons_are_counted():
    assert said(good_stroke(cycles=2, back=5.0)).endswith(", and 1 more reason.")
    assert "and 2 more reasons." in said(stroke())
