"""A thousand random strokes against two independent uncertainty engines, GTC and uncertainties.

Each engine is given the indications and what is doubtful about them, and differentiates the measurement equation
itself: our budget lines and sensitivities play no part in it.
"""

import GTC
import numpy as np
import pytest
from uncertainties import std_dev, ufloat

from checks.measurement.assess import assess_many
from checks.measurement.calibration import Alignment
from checks.measurement.correction import alignment_factor
from checks.measurement.result import Assessment
from checks.measurement.stroke import Phase, StudyFigures
from checks.measurement.workings import Case
from tests.measurement.making import (
    even_certificate,
    instruments,
    meter,
    random_instruments,
    random_stroke,
    specification,
    stroke,
    transducer,
)  # fmt: skip

ROOT_3 = 3.0**0.5
STUDY = StudyFigures(repeatability_mm=0.008, repeatability_dof=18.0, reproducibility_mm=0.012, reproducibility_dof=3.0)


def gauge_cases(count: int) -> list[Case]:
    rng = np.random.default_rng(42)
    spec = specification(capture_tolerance=4.0, zero_tolerance_mm=0.1)
    return [
        Case(
            random_stroke(rng),
            spec,
            random_instruments(rng, rng.uniform(0.1, 0.8)),
            study=STUDY if rng.random() < 0.5 else None,
        )
        for _ in range(count)
    ]


def doubtful(case: Case, result: Assessment, number, spread) -> object:
    """Travel at the setting as the measurement equation, of numbers of whichever engine."""
    by_phase = {reading.phase: reading for reading in case.stroke.readings}
    zero, back, last = by_phase[Phase.ZERO], by_phase[Phase.ZERO_RETURN], by_phase[Phase.SETTING]
    tools, study = case.instruments, case.study
    dial_read = tools.dial.read_to * tools.dial.division_mm / 2 / ROOT_3
    read = tools.stimulus.read_to * tools.stimulus.resolution / 2 / ROOT_3
    dial_error = tools.dial.certificate.points[-1].error / tools.dial.range_mm * last.travel_mm
    factor, u_factor = alignment_factor(tools.alignment)
    slope = result.features.slope
    # Of a study's repeatability and the readings the larger counts: ISO 22514-7:2012 (from memory).
    repeat = None if study is None else study.repeatability_mm
    seen = repeat is not None and repeat >= 2**0.5 * np.hypot(factor * dial_read, slope.value * read)
    x = (number(last.travel_mm, 0.0 if seen else dial_read) - number(zero.travel_mm, 0.0 if seen else dial_read)
         - dial_error - number(0.0, tools.dial.certificate.points[0].expanded_uncertainty / 2)
         - number(0.0, abs(back.travel_mm - zero.travel_mm) / ROOT_3)) * number(factor, u_factor)  # fmt: skip
    if study is None:
        x = x + number(0.0, 0.01, 8.0)
    else:
        x = x + number(0.0, study.repeatability_mm if seen else 0.0, study.repeatability_dof)
        x = x + number(0.0, study.reproducibility_mm, study.reproducibility_dof)
    certificate = tools.stimulus.certificate
    error = certificate.points[-1].error / 400.0 * (last.stimulus - zero.stimulus)

    def pressure(u_read: float) -> object:
        return (number(last.stimulus, u_read) - number(zero.stimulus, u_read) - error
                - number(0.0, certificate.points[0].expanded_uncertainty / 2)
                - number(0.0, abs(back.stimulus - zero.stimulus) / ROOT_3))  # fmt: skip

    # Both engines are of first order, and lack the product of two doubts (JCGM 100, 5.1.2, note).
    x = x + number(0.0, slope.standard_uncertainty * spread(pressure(read)))
    p = pressure(0.0 if seen else read)
    return x - number(slope.value, slope.standard_uncertainty) * (p - case.specification.setting)


def test_a_thousand_strokes_agree_with_gtc():
    cases = gauge_cases(1000)
    compared, seen = 0, set()
    for case, result in zip(cases, assess_many(cases), strict=True):
        if result.method != "first_order" or result.slope_source != "curve":
            continue
        peer = doubtful(case, result, lambda x, u, dof=float("inf"): GTC.ureal(x, u, dof), GTC.uncertainty)
        assert result.travel_mm == pytest.approx(GTC.value(peer), rel=1e-9)
        assert result.standard_uncertainty_mm == pytest.approx(GTC.uncertainty(peer), rel=1e-9)
        assert result.effective_dof == pytest.approx(GTC.dof(peer), rel=1e-6)
        compared += 1
        seen |= {line.source for line in result.budget if line.contribution_mm == 0.0}
    assert compared > 900
    assert {
        "dial reading, held in the repeatability",
        "repeatability, study of the depot, held in the readings",
    } <= seen


def test_two_hundred_strokes_agree_with_uncertainties():
    cases = gauge_cases(200)
    for case, result in zip(cases, assess_many(cases), strict=True):
        if result.method == "first_order" and result.slope_source == "curve":
            peer = doubtful(case, result, lambda x, u, dof=None: ufloat(x, u) if u > 0.0 else x, std_dev)
            assert result.travel_mm == pytest.approx(peer.nominal_value, rel=1e-9)
            assert result.standard_uncertainty_mm == pytest.approx(peer.std_dev, rel=1e-9)


def test_a_transducer_and_its_meter_agree_with_gtc():
    """p = (mV - meter error - offset) / sensitivity - zero; meter uncertainty from its certificate."""
    rng = np.random.default_rng(9)
    for _ in range(50):
        plain = random_stroke(rng)
        millivolts = [
            type(r)(phase=r.phase, stimulus=round(0.25 * r.stimulus + 1.0, 2), travel_mm=r.travel_mm)
            for r in plain.readings
        ]
        tool = transducer(meter=meter(certificate=even_certificate(200.0, 0.05, error_share=0.001)))
        case = Case(
            stroke(*millivolts),
            specification(zero_tolerance_mm=1.0),
            instruments(tool, alignment=Alignment(angle_deg=3.0)),
        )
        result = assess_many([case])[0]
        last, zero, back = millivolts[-1], millivolts[0], millivolts[4]
        read = 0.01 / 0.25 / 2 / ROOT_3

        def kpa(mv):
            return (mv * (1 - 0.001) - 1.0) / 0.25

        returned = GTC.ureal(0, abs(kpa(back.stimulus) - kpa(zero.stimulus)) / ROOT_3)
        p = GTC.ureal(kpa(last.stimulus), read) - GTC.ureal(kpa(zero.stimulus), read) - returned
        p = p - GTC.ureal(0, 0.3) - GTC.ureal(0, 0.025) / 0.25  # gauge certificate, meter certificate
        pressure_part = result.features.slope.value * GTC.uncertainty(p)
        pressure_lines = [line for line in result.budget if line.symbol in {"p", "p_0", "r_p", "c_p", "e"}]
        ours = sum(line.contribution_mm**2 for line in pressure_lines) ** 0.5
        assert ours == pytest.approx(pressure_part, rel=1e-9)
        setting = next(value for phase, value, _ in result.features.points if phase == "setting")
        assert setting == pytest.approx(GTC.value(p), rel=1e-12)
