"""The gauge study of a published manual, and certified analyses of variance."""

import numpy as np
import pytest

from checks.measurement.errors import MeasurementError
from checks.measurement.study import analyse

# 10 parts by appraisers A, B, C, three trials each. AIAG, Measurement Systems Analysis; data read in public copies.
READINGS = """0.29 0.41 0.64 0.08 0.25 0.07 0.04 -0.11 -0.15
-0.56 -0.68 -0.58 -0.47 -1.22 -0.68 -1.38 -1.13 -0.96
1.34 1.17 1.27 1.19 0.94 1.34 0.88 1.09 0.67
0.47 0.50 0.64 0.01 1.03 0.20 0.14 0.20 0.11
-0.80 -0.92 -0.84 -0.56 -1.20 -1.28 -1.46 -1.07 -1.45
0.02 -0.11 -0.21 -0.20 0.22 0.06 -0.29 -0.67 -0.49
0.59 0.75 0.66 0.47 0.55 0.83 0.02 0.01 0.21
-0.31 -0.20 -0.17 -0.63 0.08 -0.34 -0.46 -0.56 -0.49
2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87
-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16"""


@pytest.fixture(scope="module")
def manual():
    return analyse(np.array(READINGS.split(), dtype=float).reshape(10, 3, 3))


def test_the_analysis_of_variance(manual):
    """Published: SS 3.1673, 88.3619, 0.3590, 2.7589, 94.6471. Status: from memory, recomputed; data verified."""
    sums = {line.source: line.sum_of_squares for line in manual.table}
    assert [sums[s] for s in ("technician", "part", "interaction", "error", "total")] == pytest.approx(
        [3.16726222, 88.36193444, 0.35898222, 2.75893333, 94.64711222], rel=1e-8
    )
    assert [line.dof for line in manual.table] == [2, 9, 18, 60, 89]
    interaction = manual.table[2]
    assert (interaction.f, interaction.p) == (pytest.approx(0.433721, abs=1e-6), pytest.approx(0.974106, abs=1e-6))


def test_an_unsure_interaction_is_pooled(manual):
    """Published F after pooling 39.617 and 245.614. Status as above."""
    assert manual.pooled
    assert [line.f for line in manual.table[:2]] == pytest.approx([39.61725, 245.61391], rel=1e-6)


def test_the_components(manual):
    """Published EV 0.199933, AV 0.226838, GRR 0.302373, PV 1.042327, TV 1.085; 27.9 %; 4 categories."""
    found = (manual.repeatability, manual.reproducibility, manual.measurement, manual.part, manual.total)
    assert found == pytest.approx((0.19993318, 0.22683752, 0.30237152, 1.04232749, 1.08529956), rel=1e-7)
    assert manual.share_of_total["measurement"] == pytest.approx(27.8607, abs=5e-5)
    assert manual.categories == 4


def test_ranges_and_means_of_each_technician(manual):
    """Published mean ranges 0.184, 0.513, 0.328 and means 0.1903, 0.0683, -0.2543. Status as above."""
    assert manual.ranges.mean(axis=1) == pytest.approx([0.184, 0.513, 0.328], abs=5e-7)
    assert manual.technician_means == pytest.approx([0.19033333, 0.06833333, -0.25433333], rel=1e-7)


@pytest.mark.parametrize("shift", [0.0, 1e6, 1e9])
def test_leading_digits_do_not_cancel(shift, manual):
    """As NIST StRD's SmLs04 and SmLs07 try: a constant added to every reading changes nothing that matters."""
    moved = analyse(np.array(READINGS.split(), dtype=float).reshape(10, 3, 3) + shift)
    assert moved.repeatability == pytest.approx(manual.repeatability, rel=1e-15 * max(shift, 1) * 20 + 1e-9)


def test_agreement_with_one_way_analyses_of_nist():
    """NIST StRD SiRstv: between 5.11462616e-2 (4), within 2.1663656e-1 (20), F 1.18046237440255. Verified.

    Its five instruments stand for parts; each of its rows is repeated for two technicians who agree exactly.
    """
    rows = """196.3052 196.1240 196.1890 196.2569 196.3403 196.3042 196.3825 196.1669 196.3257 196.0422
    196.1303 196.2005 196.2889 196.0343 196.1811 196.2795 196.1748 196.1494 196.1485 195.9885
    196.2119 196.1051 196.1850 196.0052 196.2090"""
    one = np.array(rows.split(), dtype=float).reshape(5, 1, 5)
    study = analyse(np.repeat(one, 2, axis=1))
    sums = {line.source: line for line in study.table}
    assert sums["part"].sum_of_squares == pytest.approx(2 * 5.11462616e-2, rel=1e-9)
    assert sums["error"].sum_of_squares == pytest.approx(2 * 2.1663656e-1, rel=1e-9)
    ratio = (sums["part"].sum_of_squares / 4) / (sums["error"].sum_of_squares / 40 * 2)
    assert ratio == pytest.approx(1.18046237440255, rel=1e-9)
    assert sums["technician"].sum_of_squares == pytest.approx(0.0, abs=1e-18)
    assert study.reproducibility == 0.0


@pytest.mark.parametrize(("leading", "digits"), [(1.0, 13), (1e6, 8), (1e12, 2)], ids=["SmLs01", "SmLs04", "SmLs07"])
def test_agreement_with_constant_leading_digits(leading, digits):
    """NIST StRD SmLs01, SmLs04, SmLs07: 9 treatments of 21 readings, between 1.68 (8), within 1.80 (180), F 21.0.

    Certified values verified; the readings are made from the published pattern. 13, 8 and 2 digits are what doubles
    leave of the readings themselves (a reading near 1e12 is stored to 1e-4, a thousandth of the step between them).
    """
    tenths = np.array([4, 3, 5, 3, 5, 3, 5, 3, 5]) / 10
    steps = np.array([0.0, *[-0.1, 0.1] * 10])
    one = leading + tenths[:, None, None] + steps[None, None, :]
    study = analyse(np.repeat(one, 2, axis=1))
    sums = {line.source: line for line in study.table}
    tolerance = 10.0**-digits
    assert sums["part"].sum_of_squares / 2 == pytest.approx(1.68, rel=tolerance)
    assert sums["error"].sum_of_squares / 2 == pytest.approx(1.80, rel=tolerance)
    ratio = (sums["part"].sum_of_squares / 8) / (sums["error"].sum_of_squares / 180)
    assert ratio == pytest.approx(21.0, rel=2 * tolerance)


def test_the_chart_of_means_and_each_technician_about_all(manual):
    """Means 0.1903, 0.0683, -0.2543 about 0.00144; A2 1.023 (from memory) times the mean range 0.3417.

    A technician's mean differs from that of all by +-t(78) sqrt(MS (1 - 1/3) / 30): worked by hand from the table.
    """
    low, high = manual.mean_limits
    assert (high - low) / 2 == pytest.approx(1.023 * 0.341667, rel=1e-3)
    assert (high + low) / 2 == pytest.approx(0.0014444, abs=1e-6)
    assert manual.cell_means[0, 0] == pytest.approx((0.29 + 0.41 + 0.64) / 3)
    assert manual.technician_limit == pytest.approx(1.99085 * (0.03997328 * (2 / 3) / 30) ** 0.5, rel=1e-5)


def test_simulated_components_are_recovered():
    """Known truth over many studies: repeatability 0.02, technicians 0.03, parts 0.2."""
    rng, found = np.random.default_rng(1), []
    for _ in range(300):
        x = rng.normal(0, 0.2, (10, 1, 1)) + rng.normal(0, 0.03, (1, 3, 1)) + rng.normal(0, 0.02, (10, 3, 3))
        study = analyse(x)
        found.append((study.repeatability**2, study.reproducibility**2, study.part**2))
    assert np.mean(found, axis=0) == pytest.approx([0.02**2, 0.03**2, 0.2**2], rel=0.12)


def test_shares_of_the_window_and_what_the_budget_takes(manual):
    study = analyse(np.array(READINGS.split(), dtype=float).reshape(10, 3, 3), window=6.0)
    assert study.share_of_window["repeatability"] == pytest.approx(100 * study.repeatability)
    assert study.figures().repeatability_dof == 78
    assert manual.share_of_window is None


def test_studies_that_tell_nothing_are_refused():
    for readings, code in [
        (np.zeros((1, 3, 3)), "study_too_small"),
        (np.ones((3, 3, 3)), "study_flat"),
        (np.full((3, 3, 3), np.nan), "study_incomplete"),
    ]:
        with pytest.raises(MeasurementError) as refused:
            analyse(readings)
        assert refused.value.code == code
