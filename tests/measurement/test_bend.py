"""Propagation through a bent curve, against plain Monte Carlo and against closed forms."""

import math

import numpy as np
import pytest
from scipy import stats

from checks.measurement.assess import assess, assess_many
from checks.measurement.bend import Bent, curvature, needs_propagation, propagate_bent, travel_on_curve
from checks.measurement.curve import local_curve
from checks.measurement.specification import State
from checks.measurement.workings import Case
from tests.measurement.making import (
    bent,
    certificate,
    gauge,
    good_stroke,
    instruments,
    random_instruments,
    random_stroke,
    reading_only,
    specification,
    straight,
)
from tests.measurement.simulated import simulated_travels

DRAWS = 200_000


def case(curve=None, **changes) -> Bent:
    plain = {"travel_mm": 1.5, "setting": 200.0, "slope": 0.05, "curve": curve, "stimulus_u": 2.0, "rest_u": 0.02,
             "lower_mm": 1.0, "upper_mm": 2.0}  # fmt: skip
    return Bent(**{**plain, **changes})


def parabola():
    curve = bent(1.5, 2.0)
    return local_curve([(p, curve(p)) for p in (150.0, 165.0, 180.0, 190.0)], (200.0, 1.5), 200.0)


def test_a_straight_rise_gives_back_the_normal_answer():
    """x ~ N(1.5, hypot(0.05 * 2, 0.02)) in closed form."""
    found = propagate_bent([case()], 0.95)[0]
    u = math.hypot(0.1, 0.02)
    assert (found.travel_mm, found.standard_uncertainty_mm) == pytest.approx((1.5, u), rel=1e-5)
    assert found.interval_mm == pytest.approx((1.5 - 1.959964 * u, 1.5 + 1.959964 * u), abs=1e-5)
    assert found.p_below == pytest.approx(stats.norm.cdf((1.0 - 1.5) / u), abs=1e-6)


def test_a_parabola_has_its_exact_mean_and_spread():
    """For x = a - s d + c d²/2 with normal d: mean a + c u²/2, variance s²u² + c²u⁴/2 (+ rest).

    Between readings the interpolant only comes close to the parabola, hence the limits.
    """
    found = propagate_bent([case(parabola(), slope=0.05)], 0.95)[0]
    c, u = 1.0 / 1200.0, 2.0
    assert found.travel_mm == pytest.approx(1.5 + 0.5 * c * u**2, abs=1e-4)
    variance = (0.05 * u) ** 2 + 0.5 * (c * u**2) ** 2 + 0.02**2
    assert found.standard_uncertainty_mm == pytest.approx(math.sqrt(variance), rel=2e-3)


def test_the_rod_rests_on_its_stop_below_the_start_of_travel():
    found = travel_on_curve([case(travel_mm=0.1)], np.array([[10.0, 2.0, 0.0, -2.0]]))
    assert found[0].tolist() == pytest.approx([0.0, 0.0, 0.1, 0.2])


def test_a_curve_that_flattens_is_followed_to_its_top_only():
    rise = [(150.0, 0.9), (170.0, 1.3), (185.0, 1.45)]
    flat = local_curve(rise, (200.0, 1.5), 200.0)
    beyond = travel_on_curve([case(flat)], np.linspace(0.0, -60.0, 30)[None, :])[0]
    assert (np.diff(beyond) >= -1e-12).all()


@pytest.mark.parametrize("rest_u", [0.2, 0.02, 0.005, 0.001, 0.0])
@pytest.mark.parametrize("stimulus_u", [0.01, 0.5, 3.0])
def test_any_mix_of_doubts_agrees_with_draws(rest_u, stimulus_u):
    one = case(parabola(), rest_u=rest_u, stimulus_u=stimulus_u, upper_mm=1.55)
    rng = np.random.default_rng(1)
    x = travel_on_curve([one], rng.normal(0.0, stimulus_u, (1, DRAWS)))[0] + rng.normal(0.0, rest_u, DRAWS)
    found = propagate_bent([one], 0.95)[0]
    u = max(float(x.std()), 1e-6)
    assert found.travel_mm == pytest.approx(x.mean(), abs=0.01 * u)
    assert found.standard_uncertainty_mm == pytest.approx(u, rel=0.01)
    assert found.p_above == pytest.approx((x > 1.55).mean(), abs=0.005)
    assert found.interval_mm == pytest.approx(np.quantile(x, [0.025, 0.975]).tolist(), abs=0.03 * u)


def test_company_changes_nothing():
    many = [case(parabola(), travel_mm=t, rest_u=r) for t in (0.0, 0.8, 1.5) for r in (0.001, 0.02)] + [case()]
    assert propagate_bent(many, 0.95) == [propagate_bent([one], 0.95)[0] for one in many]


@pytest.mark.parametrize(
    ("bend", "stimulus_u", "u", "kappa"),
    [(0.001, 1.5, 0.045, 0.025), (-0.001, 1.5, 0.045, 0.025), (0.0, 9.0, 1.0, 0.0)],
)
def test_curvature_is_the_second_order_term_over_the_uncertainty(bend, stimulus_u, u, kappa):
    assert curvature(bend, stimulus_u, u) == pytest.approx(kappa)


@pytest.mark.parametrize(
    ("kappa", "start", "switched"),
    [(0.024, 100.0, False), (0.026, 100.0, True), (0.0, 194.1, True), (0.0, 193.9, False)],
)
def test_the_switch(kappa, start, switched):
    """u_p = 2 kPa: three of them are 6 kPa below the setting of 200 kPa."""
    assert needs_propagation(kappa, start, 200.0, 2.0) is switched


def test_an_ordinary_stroke_stays_with_first_order_and_a_steep_one_does_not():
    rough = instruments(gauge(certificate=certificate((0, 0, 3.0), (400, 0, 3.0))))
    assert assess(good_stroke(straight()), specification(), rough).method == "first_order"
    steep = assess(good_stroke(bent(1.5, 2.5, 170.0)), specification(), rough)
    assert (steep.method, steep.curvature > 0.025) == ("monte_carlo", True)


def test_a_start_of_travel_close_below_the_setting_switches_too():
    rough = instruments(gauge(certificate=certificate((0, 0, 20.0), (400, 0, 20.0))))
    result = assess(reading_only(1.0), specification(), rough)
    assert (result.method, result.curvature) == ("monte_carlo", 0.0)


def test_three_hundred_strokes_agree_with_plain_monte_carlo():
    """Draws from the distributions that the budget declares; both sides of the switch.

    The limits are those by which the switch was chosen: ends within 6 % of U, probability within 0.01.
    """
    rng, spec = np.random.default_rng(17), specification()
    cases = [
        Case(
            random_stroke(rng, (150.0, 185.0), (1.0, 2.5)),
            spec,
            random_instruments(rng, float(rng.choice([0.5, 1.5, 3.0]))),
        )
        for _ in range(300)
    ]
    methods = set()
    for i, (one, result) in enumerate(zip(cases, assess_many(cases), strict=True)):
        if result.state is State.VOID:
            continue
        x = simulated_travels(one, 40_000, i)
        ends = np.quantile(x, [0.025, 0.975])
        assert np.abs(ends - result.interval_mm).max() < 0.075 * result.expanded_uncertainty_mm
        inside = ((x >= spec.lower_mm) & (x <= spec.upper_mm)).mean()
        assert result.p_inside == pytest.approx(inside, abs=0.018)  # 0.01 and the noise of 40,000 draws
        methods.add(result.method)
    assert methods == {"first_order", "monte_carlo"}


def test_the_interval_is_lopsided_where_the_curve_is():
    rough = instruments(gauge(certificate=certificate((0, 0, 6.0), (400, 0, 6.0))))
    result = assess(good_stroke(bent(1.5, 2.2, 165.0)), specification(), rough)
    low, high = result.interval_mm
    assert high - result.travel_mm > 1.05 * (result.travel_mm - low)
