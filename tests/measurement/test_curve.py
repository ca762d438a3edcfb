"""What the stroke says about the actuator."""

import math

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import least_squares

from checks.measurement.assess import assess
from checks.measurement.curve import hinge, hysteresis, leak_rate, local_curve, slope_uncertainty, sticking
from checks.measurement.stroke import Phase, Reading
from tests.measurement.making import (
    SETTING,
    bent,
    good_stroke,
    instruments,
    opening,
    rise,
    specification,
    straight,
    stroke,
)

MARKS = (100.0, 130.0, 150.0, 165.0, 180.0, 190.0)


def points(curve, marks=MARKS):
    return [(p, curve(p)) for p in marks]


def test_the_slope_of_a_straight_rise_is_its_slope():
    curve = local_curve(points(straight(0.025)), (200.0, 1.5), SETTING)
    assert curve.slope == pytest.approx(0.025, rel=1e-12)
    assert curve.bend == pytest.approx(0.0, abs=1e-12)


def test_the_slope_of_a_parabola_is_found_exactly():
    """x = (p - 140)² / 2400: at 200 kPa the slope is 0.05 mm/kPa and the second derivative 1/1200."""
    parabola = bent(1.5, 2.0)
    curve = local_curve(points(parabola), (200.0, 1.5), SETTING)
    assert curve.slope == pytest.approx(0.05, rel=1e-9)
    assert curve.bend == pytest.approx(1.0 / 1200.0, rel=1e-9)


@pytest.mark.parametrize("reading", [198.5, 201.5])
def test_a_reading_beside_the_setting_gives_the_slope_at_the_setting(reading):
    parabola = bent(1.5, 2.0)
    curve = local_curve(points(parabola), (reading, parabola(reading)), SETTING)
    assert curve.slope == pytest.approx(0.05, rel=0.01)


@pytest.mark.parametrize("marks", [(), (190.0,), (100.0, 120.0, 140.0), (199.0, 199.5)])
def test_too_few_points_or_none_near_the_setting_give_no_curve(marks):
    assert local_curve(points(straight(), marks), (200.0, 1.5), SETTING) is None


def test_one_point_in_four_within_a_quarter_below_the_setting_suffices():
    assert local_curve(points(straight(), (100.0, 150.0)), (200.0, 1.5), SETTING) is not None
    assert local_curve(points(straight(), (100.0, 149.0)), (200.0, 1.5), SETTING) is None


def test_a_stuck_rod_has_no_slope():
    assert local_curve([(p, 0.0) for p in MARKS], (200.0, 0.0), SETTING).slope == 0.0


def test_the_uncertainty_of_the_slope_is_that_of_repeated_noisy_strokes():
    """Against the spread of 4,000 simulated strokes."""
    rng = np.random.default_rng(5)
    true, noise = straight(0.025), 0.004
    slopes = []
    for _ in range(4000):
        noisy = [(p, x + rng.normal(0.0, noise)) for p, x in points(true, (165.0, 180.0, 200.0))]
        slopes.append(local_curve(noisy[:-1], noisy[-1], SETTING).slope)
    curve = local_curve(points(true, (165.0, 180.0)), (200.0, true(200.0)), SETTING)
    # The limiter of the interpolant only ever narrows the spread of the plain three-point slope.
    assert slope_uncertainty(curve, noise, 0.0) == pytest.approx(np.std(slopes), rel=0.06)


def test_the_hinge_finds_start_and_slope_of_a_perfect_hinge():
    start, slope = hinge([*points(straight(0.025)), (200.0, 1.5)])
    assert (start.value, slope.value) == pytest.approx((140.0, 0.025), rel=1e-9)
    assert start.standard_uncertainty == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("seed", range(12))
def test_the_hinge_agrees_with_a_general_least_squares_solver(seed):
    """Against scipy.optimize.least_squares from the true values, standard errors from its Jacobian."""
    rng = np.random.default_rng(seed)
    p = np.arange(100.0, 205.0, 7.5)
    x = np.maximum(0.0, 0.03 * (p - rng.uniform(125.0, 160.0))) + rng.normal(0.0, 0.01, len(p))
    start, slope = hinge(list(zip(p.tolist(), x.tolist(), strict=True)))
    best = min(
        (least_squares(lambda b: b[0] * np.maximum(0.0, p - b[1]) - x, [0.03, guess], x_scale=[0.01, 10.0], xtol=1e-14)
         for guess in np.arange(115.0, 170.0, 2.5)), key=lambda fit: fit.cost,
    )  # fmt: skip
    covariance = np.linalg.inv(best.jac.T @ best.jac) * 2.0 * best.cost / (len(p) - 2)
    assert (slope.value, start.value) == pytest.approx(tuple(best.x), rel=1e-5)
    errors = np.sqrt(np.diag(covariance))
    assert (slope.standard_uncertainty, start.standard_uncertainty) == pytest.approx(tuple(errors), rel=1e-3)


def test_the_limits_of_start_and_slope_hold_what_they_promise():
    """Coverage over 2,000 simulated strokes with a known start; nominal 95 %."""
    rng = np.random.default_rng(11)
    p = np.array([100.0, 120.0, 135.0, 150.0, 160.0, 170.0, 180.0, 190.0, 200.0])
    factor, hits = stats.t.ppf(0.975, len(p) - 2), np.zeros(2)
    for _ in range(2000):
        x = np.maximum(0.0, 0.025 * (p - 142.0)) + rng.normal(0.0, 0.008, len(p))
        start, slope = hinge(list(zip(p.tolist(), x.tolist(), strict=True)))
        hits += [abs(start.value - 142.0) < factor * start.standard_uncertainty,
                 abs(slope.value - 0.025) < factor * slope.standard_uncertainty]  # fmt: skip
    assert hits / 2000 == pytest.approx([0.95, 0.95], abs=0.02)


@pytest.mark.parametrize("few", [[], [(100.0, 0.0), (150.0, 0.2), (200.0, 1.5)], [(p, 0.0) for p in MARKS]])
def test_too_few_or_resting_points_have_no_hinge(few):
    assert hinge(few) is None


def test_hysteresis_is_the_gap_at_the_setting_where_the_fall_spans_it():
    curve = local_curve(points(straight()), (200.0, 1.5), SETTING)
    found = hysteresis(curve, [(220.0, 2.1), (205.0, 1.725), (195.0, 1.475)], SETTING, 0.01)
    assert found.value == pytest.approx(0.1, abs=1e-12)
    assert found.standard_uncertainty == pytest.approx(math.sqrt(2.0) * 0.01)


def test_hysteresis_is_taken_near_the_setting_where_the_fall_begins_below_it():
    curve = local_curve(points(straight()), (200.0, 1.5), SETTING)
    assert hysteresis(curve, [(180.0, 1.08), (150.0, 0.3)], SETTING, 0.01).value == pytest.approx(0.08)
    assert hysteresis(curve, [(120.0, 0.1)], SETTING, 0.01) is None
    assert hysteresis(curve, [], SETTING, 0.01) is None
    assert hysteresis(None, [(180.0, 1.08)], SETTING, 0.01) is None


def test_a_free_rod_does_not_stick():
    smooth = [(p, bent(1.5, 1.6)(p)) for p in (145.0, 155.0, 165.0, 175.0, 185.0, 195.0, 200.0)]
    assert sticking(smooth, 140.0, 0.005) is None


def test_a_rod_that_hangs_and_jumps_sticks():
    hung = [(150.0, 0.25), (160.0, 0.5), (170.0, 0.52), (180.0, 1.0), (190.0, 1.25), (200.0, 1.5)]
    found = sticking(hung, 140.0, 0.005)
    assert found.value > 0.2
    assert found.standard_uncertainty == pytest.approx(math.sqrt(2.0) * 0.005)


def test_sticking_asks_for_five_moving_points():
    assert sticking([(150.0, 0.2), (170.0, 0.2), (180.0, 1.0), (200.0, 1.5)], 140.0, 0.005) is None


def test_false_alarms_of_sticking_are_rare():
    """Normal noise of the stated size on 3,000 free rods: a three-sigma rule over five steps."""
    rng = np.random.default_rng(3)
    p = np.array([145.0, 155.0, 165.0, 175.0, 185.0, 200.0])
    alarms = sum(
        sticking(
            list(zip(p.tolist(), (0.025 * (p - 140.0) + rng.normal(0.0, 0.005, 6)).tolist(), strict=True)), 140.0, 0.005
        )
        is not None
        for _ in range(3000)
    )
    assert alarms / 3000 < 0.01


def hold(*pairs):
    return [Reading(phase=Phase.HOLD, stimulus=p, seconds=t) for t, p in pairs]


def test_a_loss_of_pressure_is_a_positive_rate():
    """200 kPa to 197 kPa in 90 s is 2 kPa/min."""
    found = leak_rate(hold((0.0, 200.0), (90.0, 197.0)), 1.0, 0.1)
    assert found.value == pytest.approx(2.0)
    assert found.standard_uncertainty == pytest.approx(math.sqrt(2.0) * 0.1 / 1.5)


def test_a_leak_rate_is_the_least_squares_line_with_its_error():
    """Against scipy.stats.linregress."""
    minutes, values = np.array([0.0, 0.5, 1.0, 2.0, 3.0]), np.array([200.0, 198.7, 198.1, 195.6, 193.8])
    peer = stats.linregress(minutes, values)
    found = leak_rate(hold(*zip((60.0 * minutes).tolist(), values.tolist(), strict=True)), 1.0, 0.0)
    assert (found.value, found.standard_uncertainty) == pytest.approx((-peer.slope, peer.stderr), rel=1e-9)


@pytest.mark.parametrize("few", [[], hold((0.0, 200.0)), hold((30.0, 200.0), (30.0, 199.0))])
def test_a_rate_needs_two_moments(few):
    assert leak_rate(few, 1.0, 0.1) is None


def test_a_whole_stroke_brings_all_its_features():
    falls = [Reading(phase=Phase.FALL, stimulus=p, travel_mm=straight()(p) + 0.05) for p in (210.0, 190.0, 170.0)]
    made = stroke(*opening(), *rise(straight()), *falls, *hold((0.0, 150.0), (60.0, 149.0)))
    features = assess(made, specification(), instruments()).features
    assert features.start.value == pytest.approx(140.0, abs=0.1)
    assert features.slope.value == pytest.approx(0.025, rel=1e-6)
    assert features.hysteresis.value == pytest.approx(0.05, abs=1e-6)
    assert features.leak_rate.value == pytest.approx(1.0)
    assert features.sticking is None
    assert [phase for phase, _, _ in features.points] == ["rise"] * 6 + ["setting"] + ["fall"] * 3


def test_a_hold_on_an_electric_actuator_has_no_leak():
    assert assess(good_stroke(), specification(), instruments()).features.leak_rate is None
