"""Conformity against JCGM 106:2012 and tables computed by other means."""

import math

import pytest
from scipy import stats
from scipy.integrate import dblquad

from checks.measurement.conformity import acceptance_limits, judge, probabilities, risks, uncertainty_ratio
from checks.measurement.specification import State


def test_the_zener_diode():
    """JCGM 106, 7.4: y = -5.47 V, u = 0.05 V, limit -5.40 V gives 92 % (recalled; the number agrees)."""
    inside, below, above = probabilities(-5.47, 0.05, -math.inf, -5.40)
    assert inside == pytest.approx(0.919243, abs=5e-7)
    assert (below, above) == (0.0, pytest.approx(1.0 - 0.919243, abs=5e-7))


@pytest.mark.parametrize(("level", "z"), [(0.80, 0.842), (0.90, 1.282), (0.95, 1.645), (0.99, 2.326), (0.999, 3.090)])
def test_a_one_sided_acceptance_limit_lies_z_standard_uncertainties_inside(level, z):
    """JCGM 106, table 1 (the idea; values of the normal distribution)."""
    low, high = acceptance_limits(0.04, 0.0, 10.0, level)
    assert (low / 0.04, (10.0 - high) / 0.04) == pytest.approx((z, z), abs=5e-4)


@pytest.mark.parametrize(
    ("accept", "consumer", "producer"),
    [
        ((1499.82, 1500.18), 0.009878, 0.069027),  # published: about 1 % and 7 % (recalled)
        ((1499.80, 1500.20), 0.018942, 0.037208),
        ((1499.84, 1500.16), 0.004334, 0.114657),
        ((1499.88, 1500.12), 0.000469, 0.247670),
    ],
)
def test_the_precision_resistors(accept, consumer, producer):
    """JCGM 106, 9.5.3: population N(1500, 0.12), u = 0.04, tolerance 1499.8 to 1500.2 ohm."""
    found = risks(
        population_mean=1500.0, population_sd=0.12, u=0.04, lower=1499.8, upper=1500.2,
        accept_low=accept[0], accept_high=accept[1],
    )  # fmt: skip
    assert found.consumer == pytest.approx(consumer, abs=5e-7)
    assert found.producer == pytest.approx(producer, abs=5e-7)
    assert found.inside == pytest.approx(0.904419, abs=5e-7)


@pytest.mark.parametrize(
    ("in_tolerance", "ratio", "false_accept", "false_reject"),
    [
        (0.95, 4, 0.8583, 1.5537), (0.95, 3, 1.0485, 2.2936), (0.95, 2, 1.3373, 4.1775), (0.95, 1.5, 1.5412, 6.6245),
        (0.95, 1, 1.8012, 12.9572), (0.89, 4, 1.4556, 2.1618), (0.89, 2, 2.4183, 5.1961), (0.85, 4, 1.7277, 2.3826),
        (0.85, 2, 2.9522, 5.5103),
    ],
)  # fmt: skip
def test_joint_risks_of_simple_acceptance(in_tolerance, ratio, false_accept, false_reject):
    """Table computed by a double integral elsewhere (reference values 3.3, status C); per cent."""
    sd, u = 1.0 / stats.norm.ppf(0.5 + 0.5 * in_tolerance), 0.5 / ratio
    found = risks(population_mean=0.0, population_sd=sd, u=u, lower=-1.0, upper=1.0, accept_low=-1.0, accept_high=1.0)
    assert 100.0 * found.consumer == pytest.approx(false_accept, abs=6e-5)
    assert 100.0 * found.producer == pytest.approx(false_reject, abs=6e-5)


def test_risks_of_a_lopsided_case_agree_with_a_double_integral():
    """Independent route: scipy.integrate.dblquad over truth and reading."""
    mean, sd, u = 0.3, 0.6, 0.2

    def density(reading, truth):
        return stats.norm.pdf(truth, mean, sd) * stats.norm.pdf(reading, truth, u)

    consumer = sum(dblquad(density, a, b, -0.9, 0.7)[0] for a, b in ((-4.0, -1.0), (1.0, 5.0)))
    producer = sum(dblquad(density, -1.0, 1.0, a, b)[0] for a, b in ((-4.0, -0.9), (0.7, 5.0)))
    found = risks(population_mean=mean, population_sd=sd, u=u, lower=-1.0, upper=1.0, accept_low=-0.9, accept_high=0.7)
    assert (found.consumer, found.producer) == pytest.approx((consumer, producer), abs=1e-7)


@pytest.mark.parametrize(
    ("factor", "specific_risk"), [(0.0, 0.5), (0.83, 0.0485), (1.0, 0.022750), (1.5, 0.00135), (3.0, 9.866e-10)]
)
def test_guard_bands_of_r_expanded_uncertainties(factor, specific_risk):
    """ILAC-G8:09/2019, w = r·U with U = 2u (ratios from memory; probabilities of the normal distribution)."""
    u, limit = 0.04, 10.0
    _, _, above = probabilities(limit - factor * 2.0 * u, u, -math.inf, limit)
    assert above == pytest.approx(specific_risk, rel=2e-3)


@pytest.mark.parametrize(("reading", "state"), [(9.934, State.INSIDE), (9.93, State.INSIDE), (9.935, State.UNDECIDED)])
def test_the_95_percent_rule_accepts_up_to_1_645_u(reading, state):
    """ISO 14253-1 (factor from memory): limit 10.00 mm, u = 0.04; at 9.93 the probability is Φ(1.75) = 0.959941."""
    shares = probabilities(reading, 0.04, 0.0, 10.0)
    assert judge(*shares, 0.95) is state
    if reading == 9.93:
        assert shares[0] == pytest.approx(0.959941, abs=5e-7)


def test_the_test_uncertainty_ratio_is_half_width_over_expanded_uncertainty():
    assert uncertainty_ratio(0.25, 9.0, 11.0) == 4.0
    assert uncertainty_ratio(0.0, 9.0, 11.0) == math.inf
