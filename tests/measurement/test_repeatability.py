"""What repeats, studies and approaches bring to the budget."""

from dataclasses import replace

import pytest

from checks.measurement.calibration import Alignment
from checks.measurement.specification import Policy
from checks.measurement.stroke import Phase, Reading, StudyFigures
from checks.measurement.travel import repeatability
from tests.measurement.making import good_stroke, instruments, opening, rise, straight, stroke
from tests.measurement.travelled import ROOT_3, assessed, lines

STUDY = StudyFigures(repeatability_mm=0.02, repeatability_dof=20.0, reproducibility_mm=0.03, reproducibility_dof=2.0)


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
