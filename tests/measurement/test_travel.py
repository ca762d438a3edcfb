"""Travel at the setting: slope, repeatability, and what each line of the budget stands for."""

import math
from dataclasses import replace

import pytest

from checks.measurement.assess import assess
from checks.measurement.calibration import Alignment
from checks.measurement.specification import Policy, Stimulus
from checks.measurement.stroke import Phase, PooledSlope, Reading, StudyFigures
from checks.measurement.travel import repeatability
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

ROOT_3 = math.sqrt(3.0)
SPEC = specification()
STUDY = StudyFigures(repeatability_mm=0.02, repeatability_dof=20.0, reproducibility_mm=0.03, reproducibility_dof=2.0)


def lines(result):
    return {line.symbol: line for line in result.budget}


def assessed(made=None, tools=None, **more):
    return assess(made or good_stroke(), SPEC, tools or instruments(), **more)


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


def test_one_approach_without_a_study_takes_the_policys_repeatability():
    found = repeatability([1.5], Policy(assumed_repeatability_mm=0.02), None)
    assert (found.standard_uncertainty, found.dof, found.source) == (0.02, 8.0, "repeatability, assumed")


def test_three_approaches_speak_for_themselves():
    """s = 0.01 of 1.49, 1.50, 1.51; divided by the root of three."""
    found = repeatability([1.49, 1.50, 1.51], Policy(), None)
    assert (found.standard_uncertainty, found.dof) == (pytest.approx(0.01 / ROOT_3), 2.0)


def test_approaches_of_one_stroke_do_not_average_a_studys_set_ups():
    """A study reads each time with the dial set up anew: what changes from set-up to set-up stays in a mean."""
    found = repeatability([1.49, 1.50, 1.51], Policy(), STUDY)
    assert (found.standard_uncertainty, found.dof) == (0.02, 20.0)
    assert found.source == "repeatability, study of the depot"


def test_approaches_that_scatter_more_than_the_study_says_speak_for_themselves():
    """s = 0.1 of 1.4, 1.5, 1.6."""
    found = repeatability([1.4, 1.5, 1.6], Policy(), STUDY)
    assert (found.standard_uncertainty, found.dof) == (pytest.approx(0.1 / ROOT_3), 2.0)


def test_a_study_adds_the_reproducibility_of_the_depot():
    made = lines(assessed(study=STUDY))
    assert (made["w"].standard_uncertainty, made["o"].standard_uncertainty, made["o"].dof) == (0.02, 0.03, 2.0)
    assert "o" not in lines(assessed())


def test_reading_the_scales_is_not_counted_beside_a_study_that_saw_it():
    """Larger of resolution and repeatability, not both: ISO 22514-7:2012 (from memory)."""
    plain, made = lines(assessed()), lines(assessed(study=STUDY))
    fallen = {symbol for symbol in plain if made[symbol].contribution_mm < plain[symbol].contribution_mm}
    assert fallen == {"x", "x_0", "p", "p_0"}
    assert all(made[symbol].contribution_mm == 0.0 for symbol in fallen)
    assert made["p"].source == "pressure reading, held in the repeatability"


def test_a_check_with_coarser_scales_than_the_studys_keeps_its_own_doubt():
    fine = StudyFigures(repeatability_mm=0.001, repeatability_dof=20, reproducibility_mm=0.0, reproducibility_dof=2)
    plain, made = lines(assessed()), lines(assessed(study=fine))
    assert made["w"].contribution_mm == 0.0
    assert all(made[symbol].contribution_mm == plain[symbol].contribution_mm > 0 for symbol in ("x", "x_0", "p", "p_0"))


def test_what_all_readings_of_a_study_share_stays_in_the_budget():
    """Certificates and alignment move every reading of a study alike, so it cannot see them."""
    made_with = {
        "tools": instruments(alignment=Alignment(angle_max_deg=5.0)),
        "made": good_stroke(back_mm=-0.02, back=0.5),
    }
    plain, made = lines(assessed(**made_with)), lines(assessed(study=STUDY, **made_with))
    for symbol in ("c_x", "c_p", "f", "r_x", "r_p"):
        assert made[symbol].contribution_mm == pytest.approx(plain[symbol].contribution_mm, rel=0.05)
        assert made[symbol].contribution_mm > 0


def test_the_budget_names_the_study():
    named = replace(STUDY, name="Spring round")
    assert lines(assessed(study=named))["w"].source == "repeatability, study Spring round"
    assert lines(assessed(study=named))["o"].source == "reproducibility, study Spring round"


def test_repeated_approaches_are_averaged():
    vent = Reading(phase=Phase.VENT, stimulus=0.0, travel_mm=0.0)
    curves = [straight(0.025), straight(0.0252), straight(0.0254)]
    made = stroke(*opening(), *rise(curves[0]), vent, *rise(curves[1]), vent, *rise(curves[2]))
    result = assessed(made)
    assert result.travel_mm == pytest.approx(60.0 * 0.0252, abs=1e-9)
    assert lines(result)["w"].source == "repeatability, 3 approaches"


def test_an_earlier_approach_that_broke_the_rules_does_not_count():
    bad = [
        Reading(phase=Phase.RISE, stimulus=250.0, travel_mm=2.5),
        Reading(phase=Phase.SETTING, stimulus=200.0, travel_mm=1.9),
    ]
    vent = Reading(phase=Phase.VENT, stimulus=0.0, travel_mm=0.0)
    assert assessed(stroke(*opening(), *bad, vent, *rise(straight()))).travel_mm == pytest.approx(1.5)


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
