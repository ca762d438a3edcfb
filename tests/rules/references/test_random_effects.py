"""The vaccine trials of a published meta-analysis."""

import numpy as np
import pytest

from checks.rules.restoration import random_effects

# Cases and others, vaccinated and control (Colditz et al. 1994), data as in R's dat.bcg.
TRIALS = [(4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619), (33, 5036, 47, 5761)]
TRIALS += [(180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232)]
TRIALS += [(17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825)]


@pytest.fixture(scope="module")
def pooled():
    a, b, c, d = np.array(TRIALS, dtype=float).T
    return random_effects(np.log(a / (a + b) * (c + d) / c), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d))


def test_the_published_mean_and_spread(pooled):
    """DerSimonian-Laird: tau2 0.3088, mean -0.7141, Q 152.23. Status: from memory, recomputed; Q verified."""
    assert pooled.tau2 == pytest.approx(0.308760, abs=5e-7)
    assert pooled.mean == pytest.approx(-0.714117, abs=5e-7)
    assert pooled.q == pytest.approx(152.233008, abs=5e-6)


def test_hartung_knapp_limits_and_prediction(pooled):
    """Recomputed reference: t(12) limits -1.107821 to -0.320413; prediction -1.998838 to 0.570604, t(11)."""
    assert (pooled.low, pooled.high) == pytest.approx((-1.107821, -0.320413), abs=1e-6)
    assert pooled.prediction == pytest.approx((-1.998838, 0.570604), abs=1e-6)


def test_one_event_cannot_be_pooled():
    with pytest.raises(ValueError, match="at least two"):
        random_effects([0.1], [0.01])
