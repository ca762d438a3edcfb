"""One stroke by plain Monte Carlo, drawing each line of its budget from the distribution it declares.

An independent check of the number shown: slower and noisier than ``bend``, with nothing taken as normal that is not.
"""

import math

import numpy as np

from checks.measurement.bend import travel_on_curve
from checks.measurement.calibration import Alignment, Geometry
from checks.measurement.correction import ROOT_3, channels
from checks.measurement.result import BudgetLine
from checks.measurement.travel import STIMULUS_SYMBOLS
from checks.measurement.workings import Case, bent_case, work
from tests.measurement.montecarlo import FloatArray, Input, Normal, Rectangular, Student


def simulated_travels(case: Case, draws: int, seed: int) -> FloatArray:
    """Draws of the travel at the setting, shape (draws,), mm."""
    ready = channels(case.instruments)
    workings = work(case, ready)
    measured = workings.measured
    assert measured is not None, "the stroke has no reading at the setting to draw about"
    generator = np.random.default_rng(seed)
    rest: FloatArray = np.zeros(draws)
    stimulus: FloatArray = np.zeros(draws)
    for line in measured.lines:
        if line.symbol == "f" and case.instruments.alignment.angle_deg is None:
            spread = _factors(case.instruments.alignment, generator, draws) - ready.factor
            rest += line.sensitivity * spread
        elif line.symbol in STIMULUS_SYMBOLS:
            scale = 1.0 / ready.sensitivity if line.symbol == "e" else 1.0
            stimulus += math.copysign(scale, line.sensitivity) * _distribution(line).draw(generator, draws)
        else:
            rest += line.sensitivity * _distribution(line).draw(generator, draws)
    bent = bent_case(case, measured, workings.curve)
    moved: FloatArray = travel_on_curve([bent], stimulus[None, :])[0] + rest
    return moved


def _distribution(line: BudgetLine) -> Input:
    """Distribution of the deviation of a line from its value."""
    if line.distribution == "rectangular":
        return Rectangular(0.0, ROOT_3 * line.standard_uncertainty)
    if line.distribution == "t":
        return Student(0.0, line.standard_uncertainty, line.dof)
    return Normal(0.0, line.standard_uncertainty)


def _factors(alignment: Alignment, generator: np.random.Generator, draws: int) -> FloatArray:
    angle = math.radians(alignment.angle_max_deg)
    cosines: FloatArray = np.cos(generator.uniform(-angle, angle, draws))
    return cosines if alignment.geometry is Geometry.FLAT_FACE else 1.0 / cosines
