"""Thread pitches of ISO 261 and ASME B1.1: pitch = 25.4 mm / threads per inch, exact; series from memory."""

import pytest

from checks.measurement.adjustment import gain_per_turn
from tests.measurement.making import specification

METRIC = {"M5": 0.8, "M6": 1.0, "M8": 1.25}
INCH = {
    "10-32 UNF": (32, 0.79375),
    "1/4-28 UNF": (28, 0.9071429),
    "5/16-24 UNF": (24, 1.0583333),
    "10-24 UNC": (24, 1.0583333),
}


@pytest.mark.parametrize(("name", "pitch"), METRIC.items())
def test_one_turn_of_a_metric_thread_moves_its_pitch(name, pitch):
    assert gain_per_turn(specification(thread_pitch_mm=pitch)).value == pytest.approx(pitch, rel=1e-15)


@pytest.mark.parametrize(("name", "row"), INCH.items())
def test_one_turn_of_an_inch_thread_moves_an_inch_over_its_threads(name, row):
    threads, pitch = row
    found = gain_per_turn(specification(thread_pitch_mm=25.4 / threads, adjustment_sign=-1))
    assert found.value == pytest.approx(-pitch, abs=5e-8)


@pytest.mark.parametrize(("pitch", "turns"), [(1.0, 1.5), (0.9071429, 1.653543), (0.79375, 1.889764)])
def test_turns_for_one_and_a_half_millimetres(pitch, turns):
    assert 1.5 / gain_per_turn(specification(thread_pitch_mm=pitch)).value == pytest.approx(turns, abs=5e-7)
