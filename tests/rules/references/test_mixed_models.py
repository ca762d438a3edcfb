"""Published mixed-model estimates, and an independent library on the same data."""

import numpy as np
import pytest
import statsmodels.api as sm

from checks.rules.drift import VariancePrior, fit
from checks.rules.epochs import epochs_from_readings
from checks.rules.forecast import forecast
from tests.rules.drifting import simulate

# Reaction times in ms on days 0 to 9 (Belenky et al. 2003), as in lme4's sleepstudy.
SLEEP = """249.5600 258.7047 250.8006 321.4398 356.8519 414.6901 382.2038 290.1486 430.5853 466.3535
222.7339 205.2658 202.9778 204.7070 207.7161 215.9618 213.6303 217.7272 224.2957 237.3142
199.0539 194.3322 234.3200 232.8416 229.3074 220.4579 235.4208 255.7511 261.0125 247.5153
321.5426 300.4002 283.8565 285.1330 285.7973 297.5855 280.2396 318.2613 305.3495 354.0487
287.6079 285.0000 301.8206 320.1153 316.2773 293.3187 290.0750 334.8177 293.7469 371.5811
234.8606 242.8118 272.9613 309.7688 317.4629 309.9976 454.1619 346.8311 330.3003 253.8644
283.8424 289.5550 276.7693 299.8097 297.1710 338.1665 332.0265 348.8399 333.3600 362.0428
265.4731 276.2012 243.3647 254.6723 279.0244 284.1912 305.5248 331.5229 335.7469 377.2990
241.6083 273.9472 254.4907 270.8021 251.4519 254.6362 245.4523 235.3110 235.7541 237.2466
312.3666 313.8058 291.6112 346.1222 365.7324 391.8385 404.2601 416.6923 455.8643 458.9167
236.1032 230.3167 238.9256 254.9220 250.7103 269.7744 281.5648 308.1020 336.2806 351.6451
256.2968 243.4543 256.2046 255.5271 268.9165 329.7247 379.4445 362.9184 394.4872 389.0527
250.5265 300.0576 269.8939 280.5891 271.8274 304.6336 287.7466 266.5955 321.5418 347.5655
221.6771 298.1939 326.8785 346.8555 348.7402 352.8287 354.4266 360.4326 375.6406 388.5417
271.9235 268.4369 257.2424 277.6566 314.8222 317.2135 298.1353 348.1229 340.2800 366.5131
225.2640 234.5235 238.9008 240.4730 267.5373 344.1937 281.1481 347.5855 365.1630 372.2288
269.8804 272.4428 277.8989 281.7895 279.1705 284.5120 259.2658 304.6306 350.7807 369.4692
269.4117 273.4740 297.5968 310.6316 287.1726 329.6076 334.4818 343.2199 369.1417 364.1236"""


def one_epoch_each(unit, usage, travel):
    units = int(max(unit)) + 1
    zero = np.zeros(len(unit))
    return epochs_from_readings(
        unit, zero, zero, usage, travel, zero, current_epoch=np.zeros(units), current_kind=np.zeros(units)
    )


@pytest.fixture(scope="module")
def sleepstudy():
    travel = np.array(SLEEP.split(), dtype=float)
    return one_epoch_each(np.repeat(np.arange(18), 10), np.tile(np.arange(10.0), 18), travel)


def test_sleepstudy_gives_the_published_reml_estimates(sleepstudy):
    """lme4's printout: 251.405 (6.825), 10.467 (1.546); sd 24.741, 5.922, correlation 0.07, residual 25.592;
    criterion 1743.6. Status: verified in a stored public source."""
    one = fit(sleepstudy, variance_prior=VariancePrior.none())
    assert one.beta[[0, 2]] == pytest.approx([251.405, 10.467], abs=5e-4)
    assert np.sqrt(np.diag(one.cov))[[0, 2]] == pytest.approx([6.825, 1.546], abs=6e-4)
    assert one.theta[1] == pytest.approx(24.741, abs=5e-3)
    assert one.slope_sd == pytest.approx(5.922, abs=2e-3)
    assert one.theta[3] / one.slope_sd == pytest.approx(0.07, abs=5e-3)
    assert one.theta[0] == pytest.approx(25.592, abs=2e-3)
    assert -2 * one.log_likelihood == pytest.approx(1743.6283, abs=1e-4)


def test_sleepstudy_gives_the_recalled_predictions_of_subjects(sleepstudy):
    """lme4's ranef for subjects 308, 309, 310. Status: from memory, recomputed with statsmodels."""
    one = fit(sleepstudy, variance_prior=VariancePrior.none())
    ahead = forecast(one)
    intercept, slope = ahead.intercept[0] - one.beta[0], ahead.slope[0] - one.beta[2]
    assert intercept[:3] == pytest.approx([2.258584, -40.398695, -38.960356], abs=2e-2)
    assert slope[:3] == pytest.approx([9.198969, -8.619686, -5.448864], abs=5e-3)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_equal_uncertainties_agree_with_mixedlm(seed):
    """statsmodels MixedLM, REML, random intercept and slope: log-likelihood to 1e-6, estimates to 1e-4."""
    data = simulate(
        np.random.default_rng(seed),
        80,
        epochs=(1, 2),
        readings=(4, 8),
        u=(0.0, 1e-12),
        theta=np.array([0.02, 0.08, 0.08, 0.01, 0.06]),
    ).data
    data = one_epoch_each(data.unit, data.usage, data.travel_mm)
    x = sm.add_constant(data.usage)
    peer = sm.MixedLM(data.travel_mm, x, groups=data.unit, exog_re=x).fit(reml=True, method="bfgs", gtol=1e-8)
    one = fit(data, variance_prior=VariancePrior.none())
    assert one.log_likelihood == pytest.approx(peer.llf, rel=1e-6)
    assert one.beta[[0, 2]] == pytest.approx(peer.fe_params, rel=1e-4)
    ours = np.array([one.theta[1] ** 2, one.theta[1] * one.theta[3], one.slope_sd**2])
    assert ours == pytest.approx(peer.cov_re[np.triu_indices(2)], rel=1e-4, abs=1e-8)
    assert one.theta[0] ** 2 == pytest.approx(peer.scale, rel=1e-4)
