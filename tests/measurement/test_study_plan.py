"""The order of a study's readings, and what its size can tell."""

import numpy as np
import pytest

from checks.measurement.study import chart_factors
from checks.measurement.study_plan import USUAL, order, size


def test_every_technician_reads_every_part_in_every_trial_once():
    turns = order(7, 3, 2, seed=5)
    cells = {(turn.part, turn.technician, turn.trial) for turn in turns}
    assert len(turns) == len(cells) == 42


def test_trials_follow_one_another_and_a_technician_reads_all_parts_before_the_next_comes():
    turns = order(6, 3, 2, seed=9)
    assert [turn.trial for turn in turns] == [0] * 18 + [1] * 18
    for start in range(0, 36, 6):
        assert len({turn.technician for turn in turns[start : start + 6]}) == 1
        assert {turn.part for turn in turns[start : start + 6]} == set(range(6))


def test_a_seed_gives_its_order_again_and_another_seed_another():
    assert order(10, 3, 3, seed=1) == order(10, 3, 3, seed=1) != order(10, 3, 3, seed=2)


def test_places_are_random_over_many_seeds():
    """Each part comes first equally often: chi-square of 2000 seeds over 5 parts, 4 dof, 99.99 % point 23.5."""
    firsts = np.bincount([order(5, 2, 2, seed)[0].part for seed in range(2000)], minlength=5)
    assert ((firsts - 400) ** 2 / 400).sum() < 23.5


def test_how_well_a_standard_deviation_is_known():
    """JCGM 100:2008, table E.1 gives the exact 24 % for 10 readings (9 dof); its formula (E.7) 1/sqrt(18), 23.6 %."""
    assert size(9, 1, 2).doubt == pytest.approx(0.2357, abs=5e-5)


def test_the_interval_of_the_true_repeatability_covers_it():
    """Simulated: 24 degrees of freedom, true value 1; 20,000 studies, three standard errors are 0.005."""
    told = size(8, 3, 2)
    found = np.sqrt(np.random.default_rng(3).chisquare(told.dof, 20_000) / told.dof)
    covered = ((told.low * found <= 1) & (told.high * found >= 1)).mean()
    assert covered == pytest.approx(0.95, abs=0.005)


def test_larger_studies_tell_more():
    assert [one.readings for one in USUAL] == sorted(one.readings for one in USUAL)
    assert [one.doubt for one in USUAL] == sorted((one.doubt for one in USUAL), reverse=True)


# D4 and A2 of the charts of ranges and means as handbooks print them. From memory.
PRINTED = {
    2: (3.267, 1.880), 3: (2.574, 1.023), 4: (2.282, 0.729), 5: (2.114, 0.577), 6: (2.004, 0.483),
    7: (1.924, 0.419), 8: (1.864, 0.373), 9: (1.816, 0.337), 10: (1.777, 0.308),
}  # fmt: skip


@pytest.mark.parametrize("trials", PRINTED)
def test_the_factors_of_the_charts(trials):
    assert chart_factors(trials) == pytest.approx(PRINTED[trials], abs=0.0011)
