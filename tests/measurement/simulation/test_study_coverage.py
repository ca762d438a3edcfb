"""A published study and the checks after it: does the expanded uncertainty hold the truth as often as it says?

Every repetition is a depot of its own: technicians, set-ups and instruments drawn anew, a study analysed, and one check
made by one more technician. Source: the definition of a coverage interval (JCGM 101, 3.12), Welch-Satterthwaite with
the factor from Student's t (JCGM 100, G.4.1 and G.6.4), computed here by hand with scipy. The spreads are invented.
"""

from dataclasses import dataclass
from functools import cache
from math import floor

import numpy as np
import pytest
from scipy import stats

from checks.measurement.assess import assess_many
from checks.measurement.result import Assessment
from checks.measurement.stroke import Phase, PooledSlope, Reading, StudyFigures
from checks.measurement.study import analyse
from checks.measurement.workings import Case
from tests.measurement.making import (
    dial,
    even_certificate,
    gauge,
    instruments,
    opening,
    specification,
    stroke,
)

DEPOTS = 1200
SLOPE = 0.02
PARTS, TRIALS = 10, 3


@dataclass(frozen=True)
class World:
    """Standard deviations in mm: between technicians, from set-up to set-up, between approaches of one set-up."""

    technician: float
    set_up: float
    approach: float = 0.003
    technicians: int = 3
    approaches: int = 1


WORLDS = {
    "set-ups scatter": World(0.004, 0.030),
    "technicians differ": World(0.025, 0.015),
    "as many of both, five technicians": World(0.020, 0.020, technicians=5),
    "three approaches to a check": World(0.010, 0.030, approaches=3),
}


def read(rng: np.random.Generator, true: np.ndarray) -> np.ndarray:
    """What is read of travels: zero and reading to half a division of 0.01 mm, pressure to 0.5 kPa at both ends."""
    ends = [rng.uniform(-0.0025, 0.0025, true.shape) - rng.uniform(-0.0025, 0.0025, true.shape)]
    ends.append(SLOPE * (rng.uniform(-0.25, 0.25, true.shape) - rng.uniform(-0.25, 0.25, true.shape)))
    return true + sum(ends)


def studied(rng: np.random.Generator, world: World, bias: float) -> StudyFigures:
    """A study of the depot: all its readings share the instruments' error ``bias``."""
    shape = (PARTS, world.technicians, TRIALS)
    parts = rng.normal(1.5, 0.1, (PARTS, 1, 1))
    technicians = rng.normal(0.0, world.technician, (1, world.technicians, 1))
    true = parts + technicians + rng.normal(0.0, np.hypot(world.set_up, world.approach), shape)
    return analyse(read(rng, true) + bias).figures()


def check(rng: np.random.Generator, world: World, study: StudyFigures | None, errors: tuple[float, float]) -> Case:
    """One check of a rod of 1.5 mm by a technician who took no part in the study."""
    here = 1.5 + rng.normal(0.0, world.technician) + rng.normal(0.0, world.set_up) + errors[0] - SLOPE * errors[1]
    rows = [*opening()]
    for number in range(world.approaches):
        if number:
            rows.append(Reading(phase=Phase.VENT, stimulus=0.0, travel_mm=0.0))
        shown = float(read(rng, np.array(here + rng.normal(0.0, world.approach))))
        rows.append(Reading(phase=Phase.SETTING, stimulus=200.0, travel_mm=shown))
    tools = instruments(
        gauge(certificate=even_certificate(400.0, 0.6)), dial(certificate=even_certificate(10.0, 0.006))
    )
    slope = PooledSlope(slope=SLOPE, spread=0.001, count=30)
    return Case(stroke(*rows), specification(), tools, model_slope=slope, study=study)


@cache
def after_a_study(name: str, *, depots: int = DEPOTS, published: bool = True) -> list[tuple[StudyFigures, Assessment]]:
    rng, world = np.random.default_rng(21), WORLDS[name]
    studies, cases = [], []
    for _ in range(depots):
        errors = rng.normal(0.0, 0.003), rng.normal(0.0, 0.3)
        studies.append(studied(rng, world, errors[0] - SLOPE * errors[1]))
        cases.append(check(rng, world, studies[-1] if published else None, errors))
    return list(zip(studies, assess_many(cases), strict=True))


def held(found: list[tuple[StudyFigures, Assessment]]) -> float:
    return float(np.mean([low <= 1.5 <= high for _, result in found for low, high in [result.interval_mm]]))


@pytest.mark.parametrize("name", [name for name in WORLDS if name != "technicians differ"])
def test_after_a_study_95_percent_intervals_hold_the_truth(name):
    """1,200 depots; three binomial standard errors of 0.95 are 0.019 either way."""
    assert 0.931 <= held(after_a_study(name)) <= 0.985


def test_where_three_technicians_differ_most_of_all_little_is_lost():
    """Two degrees of freedom in nearly all of the variance: Welch-Satterthwaite falls a little short there."""
    assert 0.91 <= held(after_a_study("technicians differ")) <= 0.985


@pytest.mark.parametrize("name", WORLDS)
def test_what_is_assumed_instead_falls_short_of_it(name):
    assert held(after_a_study(name, depots=300, published=False)) < 0.85


@pytest.mark.parametrize("name", WORLDS)
def test_the_factor_follows_from_the_studys_degrees_of_freedom(name):
    """u⁴ over the sum of each line's u⁴ by its degrees of freedom, truncated, and Student's t for it."""
    for study, result in after_a_study(name)[:200]:
        lines = [(line.contribution_mm, line.dof) for line in result.budget if line.contribution_mm > 0]
        dofs = {line.symbol: line.dof for line in result.budget if line.contribution_mm > 0}
        assert dofs.get("o", study.reproducibility_dof) == study.reproducibility_dof
        u = np.sqrt(sum(part**2 for part, _ in lines))
        dof = u**4 / sum(part**4 / many for part, many in lines)
        assert result.effective_dof == pytest.approx(dof, rel=1e-9)
        assert result.coverage_factor == pytest.approx(stats.t.ppf(0.975, floor(dof * (1 + 1e-12))), rel=5e-5)
