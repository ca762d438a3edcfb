"""Travel at the setting: slope, repeatability, and what each line of the budget stands for."""

import math

import pytest

from checks.measurement.assess import assess
from checks.measurement.calibration import Alignment
from checks.measurement.specification import Stimulus
from checks.measurement.stroke import Phase, PooledSlope, Reading
from tests.measurement.making import (
    bent,
    certificate,
    command_tool,
    dial,
    gauge,
    good_stroke,
    instruments,
    opening,
    reading_only,
    rise,
    specification,
    straight,
    stroke,
    transducer,
)
from tests.measurement.travelled import ROOT_3, assessed, lines


def test_a_reading_beside_the_setting_is_carried_to_it_along_the_slope():
    """x_set = x_k - s (p_k - p_set): 1.525 mm at 201 kPa with 0.025 mm/kPa is 1.5 mm at 200 kPa."""
    result = assessed(stroke(*opening(), *rise(straight(0.025), setting=201.0)))
    assert result.travel_mm == pytest.approx(1.5, abs=1e-9)
    assert lines(result)["s"].sensitivity == pytest.approx(-1.0)


def test_the_slope_of_the_stroke_comes_first_then_the_models_then_an_assumption():
    pooled = PooledSlope(slope=0.03, spread=0.004, count=12)
    assert assessed(model_slope=pooled).slope_source == "curve"
    result = assessed(reading_only(1.5), model_slope=pooled)
    assert (result.slope_source, lines(result)["s"].standard_uncertainty) == ("model", 0.004)
    assumed = assessed(reading_only(1.5))
    assert assumed.slope_source == "assumed"
    assert any("assumed" in warning for warning in assumed.warnings)


def test_the_assumed_slope_is_the_stated_share_of_nominal_over_a_tenth_of_the_setting():
    """0.5 of 1.5 mm over 20 kPa = 0.0375 mm/kPa, half as much again either way."""
    line = lines(assessed(reading_only(1.5)))["s"]
    assert line.value == pytest.approx(0.0375)
    assert line.standard_uncertainty == pytest.approx(0.5 * 0.0375 / ROOT_3)
    assert line.distribution == "rectangular"


def test_the_assumption_is_steeper_than_an_ordinary_curve():
    assert lines(assessed(reading_only(1.5)))["s"].value > assessed().features.slope.value


def test_a_dial_read_to_half_a_division_has_a_quarter_division_of_half_width():
    line = lines(assessed())["x"]
    assert line.standard_uncertainty == pytest.approx(0.0025 / ROOT_3)
    assert line.distribution == "rectangular"


def test_a_digital_gauge_has_half_a_digit_of_half_width():
    line = lines(assessed())["p"]
    assert line.standard_uncertainty == pytest.approx(0.25 / ROOT_3)
    assert line.sensitivity == pytest.approx(-0.025)
    assert line.contribution_mm == pytest.approx(0.025 * 0.25 / ROOT_3)


def test_a_certificate_states_the_uncertainty_and_without_points_the_permissible_error_does():
    bare = instruments(gauge(certificate=certificate()), dial(certificate=certificate()))
    stated, permitted = lines(assessed()), lines(assessed(tools=bare))
    assert (stated["c_x"].standard_uncertainty, stated["c_x"].distribution) == (pytest.approx(0.003), "normal")
    assert (permitted["c_x"].standard_uncertainty, permitted["c_x"].distribution) == (
        pytest.approx(0.015 / ROOT_3),
        "rectangular",
    )
    assert permitted["c_p"].standard_uncertainty == pytest.approx(1.0 / ROOT_3)


def test_what_did_not_return_to_zero_is_doubt():
    made = lines(assessed(good_stroke(back_mm=-0.02, back=0.5)))
    assert made["r_x"].contribution_mm == pytest.approx(0.02 / ROOT_3)
    assert made["r_p"].standard_uncertainty == pytest.approx(0.5 / ROOT_3)


def test_the_zero_of_either_instrument_is_taken_off():
    plain = assessed()
    moved = stroke(
        *opening(zero=3.0, zero_mm=0.2),
        *[Reading(phase=r.phase, stimulus=r.stimulus + 3.0, travel_mm=r.travel_mm + 0.2) for r in rise(straight())],
    )
    assert assessed(moved).travel_mm == pytest.approx(plain.travel_mm, abs=1e-12)


def test_alignment_corrects_and_adds_its_spread():
    result = assessed(tools=instruments(alignment=Alignment(angle_max_deg=5.0)))
    line = lines(result)["f"]
    assert result.travel_mm == pytest.approx(1.5 * line.value)
    assert line.contribution_mm == pytest.approx(1.5 * line.standard_uncertainty, rel=1e-9)
    assert 0.0 < line.contribution_mm < 0.003


def test_a_transducer_brings_a_line_for_its_meter_in_its_own_unit():
    millivolts = [
        Reading(phase=r.phase, stimulus=0.25 * r.stimulus + 1.0, travel_mm=r.travel_mm) for r in good_stroke().readings
    ]
    line = lines(assessed(stroke(*millivolts), instruments(transducer())))["e"]
    assert (line.unit, line.value) == ("mV", 51.0)
    assert line.sensitivity == pytest.approx(-0.025 / 0.25)
    assert line.standard_uncertainty == pytest.approx(0.01)


def test_an_electric_actuator_is_budgeted_in_percent():
    spec = specification(stimulus=Stimulus.ELECTRIC, setting=60.0, stimulus_max=100.0, capture_tolerance=0.5)
    curve = straight(0.06, 35.0)
    readings = [*opening()[:1], *[Reading(phase=Phase.EXERCISE, stimulus=80.0)] * 3, *opening()[-1:]]
    made = stroke(*readings, *rise(curve, (40.0, 48.0, 55.0), 60.0))
    result = assess(made, spec, instruments(command_tool()))
    assert lines(result)["p"].unit == "%"
    assert lines(result)["s"].unit == "mm/%"
    assert result.travel_mm == pytest.approx(1.5)


def test_slope_and_stimulus_doubt_each_other():
    """u(s) · u(p), JCGM 100, 5.1.2, note: the variance of a product of two zero-mean errors."""
    made = lines(assessed(reading_only(1.5), model_slope=PooledSlope(slope=0.03, spread=0.004, count=12)))
    stimulus_u = math.hypot(*(made[symbol].standard_uncertainty for symbol in ("p", "p_0", "r_p", "c_p")))
    assert made["s_p"].contribution_mm == pytest.approx(0.004 * stimulus_u)


def test_the_budget_adds_up_to_the_uncertainty_shown():
    result = assessed(good_stroke(bent(1.5, 1.2)))
    assert result.standard_uncertainty_mm == pytest.approx(
        math.hypot(*(line.contribution_mm for line in result.budget))
    )
    assert result.expanded_uncertainty_mm == pytest.approx(result.coverage_factor * result.standard_uncertainty_mm)
    for line in result.budget:
        assert line.contribution_mm == pytest.approx(abs(line.sensitivity) * line.standard_uncertainty)
