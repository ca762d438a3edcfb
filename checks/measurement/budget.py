"""Adding up what is doubtful: combined and expanded uncertainty."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from checks.measurement.result import BudgetLine

FloatArray = NDArray[np.float64]
# From here on Student's t and the normal factor agree to 1e-4 of themselves.
MANY_DOF = 10_000


@dataclass(frozen=True, slots=True)
class Combined:
    """Combined standard uncertainty, effective degrees of freedom, coverage factor, expanded uncertainty."""

    standard_uncertainty: float
    effective_dof: float
    coverage_factor: float
    expanded_uncertainty: float


def combine(contributions: Sequence[float], dofs: Sequence[float], coverage_probability: float) -> Combined:
    """Combine independent contributions to first order.

    Parameters
    ----------
    contributions : |sensitivity| * standard uncertainty of each input, all in the unit of the result
    dofs : degrees of freedom of each, ``inf`` where exactly known
    coverage_probability : for example 0.95

    Returns
    -------
    Combined, in the unit of the contributions. ``effective_dof`` is not rounded; k is taken for it truncated
    to the next lower integer.

    Source
    ------
    JCGM 100:2008, 5.1.2 (10), G.4.1 (G.2b) Welch-Satterthwaite and its note on truncation, G.6.4.
    """
    variance = 0.0
    fourth = 0.0
    for contribution, dof in zip(contributions, dofs, strict=True):
        square = contribution * contribution
        variance += square
        if dof < MANY_DOF:
            fourth += square * square / dof
    u = math.sqrt(variance)
    dof = variance * variance / fourth if fourth > 0.0 else math.inf
    k = coverage_factor(dof, coverage_probability)
    return Combined(u, dof, k, k * u)


def combine_lines(lines: Sequence[BudgetLine], coverage_probability: float) -> Combined:
    """Combine the lines of a budget, in mm."""
    return combine([line.contribution_mm for line in lines], [line.dof for line in lines], coverage_probability)


def coverage_factor(dof: float, coverage_probability: float) -> float:
    """Student's t for a two-sided interval, ``dof`` truncated to an integer; the normal factor for many.

    Examples
    --------
    >>> round(coverage_factor(16.75, 0.99), 2)
    2.92
    """
    # A hair's breadth: an exact 16 may arrive as 15.999999999999998.
    return _student(min(math.floor(min(dof, MANY_DOF) * (1.0 + 1e-12)), MANY_DOF), coverage_probability)


@lru_cache(maxsize=65536)
def _student(dof: int, coverage_probability: float) -> float:
    upper = 0.5 + 0.5 * coverage_probability
    return float(stdtrit(math.inf if dof >= MANY_DOF else max(dof, 1), upper))


@dataclass(frozen=True, slots=True)
class CombinedMany:
    """The same for many results: arrays of shape (n,)."""

    standard_uncertainty: FloatArray
    effective_dof: FloatArray
    coverage_factor: FloatArray
    expanded_uncertainty: FloatArray


def budgets(
    standard_uncertainties: FloatArray, sensitivities: FloatArray, dofs: FloatArray, coverage_probability: float
) -> CombinedMany:
    """Combine the budgets of many strokes at once; the rules are those of ``combine``.

    Parameters
    ----------
    standard_uncertainties, sensitivities : shape (lines, n); a line that a stroke lacks is 0
    dofs : shape (lines, n) or (lines, 1), ``inf`` where exactly known

    Returns
    -------
    CombinedMany, arrays of shape (n,)
    """
    squares = (standard_uncertainties * sensitivities) ** 2
    variance = squares.sum(axis=0)
    weights = np.where(dofs < MANY_DOF, 1.0 / dofs, 0.0)
    fourth = (squares * squares * weights).sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        dof = np.where(fourth > 0.0, variance * variance / fourth, np.inf)
    whole = np.floor(np.minimum(dof, MANY_DOF) * (1.0 + 1e-12)).astype(np.int64)
    k = _factors(np.minimum(whole, MANY_DOF), coverage_probability)
    u = np.sqrt(variance)
    return CombinedMany(u, dof, k, k * u)


def _factors(dofs: NDArray[np.int64], coverage_probability: float) -> FloatArray:
    """Look up Student's t once per number of degrees of freedom that occurs."""
    table = np.zeros(MANY_DOF + 1)
    for dof in np.flatnonzero(np.bincount(dofs, minlength=MANY_DOF + 1)):
        table[dof] = _student(int(dof), coverage_probability)
    return table[dofs]
