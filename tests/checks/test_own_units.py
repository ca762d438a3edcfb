"""The core speaks in kPa and mm; people read their own units (1 in = 25.4 mm, exact: NIST SP 811, B.8)."""

from dataclasses import replace

import pytest

from checks.convert import result_from_json, result_to_json
from checks.display import in_own_units, void_text
from checks.measurement.assess import assess
from checks.measurement.stroke import Phase, Reading
from checks.measurement.units import convert
from tests.measurement.making import gauge, good_stroke, instruments, opening, rise, specification, straight, stroke


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        (
            "The actuator saw 303.37 kPa; 296.47 kPa is the most allowed.",
            "The actuator saw 44.00 psi; 43.00 psi is the most allowed.",
        ),
        ("The dial came back to +0.254 mm.", "The dial came back to +0.0100 in."),
        ("It reads 0 to 12.7 mm.", "It reads 0.0000 to 0.5000 in."),
        ("It came back to -0.69 kPa.", "It came back to −0.10 psi."),
        ("A slope of 0.026 mm/kPa at 60 %.", "A slope of 0.026 mm/kPa at 60 %."),
        ("Exercised 2 of 3 times.", "Exercised 2 of 3 times."),
    ],
)
def test_values_are_told_in_the_viewers_units(sentence: str, told: str) -> None:
    assert in_own_units(sentence, "psi", "in") == told


def test_whoever_reads_the_kept_units_reads_the_sentence_as_it_is() -> None:
    sentence = "The dial came back to +0.254 mm at 213.7 kPa."
    assert in_own_units(sentence, "kPa", "mm") == sentence


def test_a_void_tells_its_values_in_the_viewers_units_however_long_it_was_kept():
    """31 psi = 213.737 kPa (NIST SP 811, B.8), read at 30 psi and returned to 0.01 in."""
    spec = specification(setting=convert(31.0, "psi", "kPa"), capture_tolerance=convert(0.31, "psi", "kPa"))
    at = convert(30.0, "psi", "kPa")
    made = assess(stroke(*opening(back_mm=0.254), *rise(straight(), setting=at)), spec, instruments())
    kept = result_from_json(result_to_json(made))
    assert kept == made
    assert [void_text(void, "psi", "in") for void in kept.voids] == [
        "The dial came back to +0.0100 in; within 0.0012 in is asked.",
        "The reading was made at 30.00 psi; at least 30.69 psi is asked.",
    ]
    assert kept.voids[1].sentence == "The reading was made at 206.84 kPa; at least 211.60 kPa is asked."


def test_a_sentence_without_values_may_hold_any_brace():
    tool = replace(gauge(certificate=None), identity="{} G-1")
    made = assess(good_stroke(), specification(), instruments(tool))
    assert void_text(made.voids[0], "psi", "in") == "Pressure instrument {} G-1 has no calibration certificate."


def test_what_lies_outside_an_instrument_is_told_in_the_viewers_units_too():
    beyond = [*opening(), Reading(phase=Phase.SETTING, stimulus=200.0, travel_mm=12.7)]
    made = assess(stroke(*beyond), specification(), instruments())
    assert "0.5000 in lies outside the instrument's range of 0.0000 in to 0.3937 in" in void_text(
        made.voids[0], "psi", "in"
    )
