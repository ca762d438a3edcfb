"""Propagation of distributions by Monte Carlo: the plain engine that stands beside first order and ``bend``."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from checks.measurement.guard import require_between

FloatArray = NDArray[np.float64]
Model = Callable[..., FloatArray]


class Input(Protocol):
    """A distribution that can be drawn from."""

    def draw(self, generator: np.random.Generator, count: int) -> FloatArray:
        """``count`` independent draws."""


@dataclass(frozen=True, slots=True)
class Normal:
    mean: float
    standard_uncertainty: float

    def draw(self, generator: np.random.Generator, count: int) -> FloatArray:
        """Normal draws (JCGM 101, 6.4.7)."""
        return generator.normal(self.mean, self.standard_uncertainty, count)


@dataclass(frozen=True, slots=True)
class Rectangular:
    mean: float
    half_width: float

    def draw(self, generator: np.random.Generator, count: int) -> FloatArray:
        """Draws equally likely within the half-width (JCGM 101, 6.4.2)."""
        return generator.uniform(self.mean - self.half_width, self.mean + self.half_width, count)


@dataclass(frozen=True, slots=True)
class Student:
    mean: float
    scale: float
    dof: float

    def draw(self, generator: np.random.Generator, count: int) -> FloatArray:
        """Scaled and shifted t draws (JCGM 101, 6.4.9): their spread exceeds ``scale`` for few degrees of freedom."""
        if math.isinf(self.dof):
            return generator.normal(self.mean, self.scale, count)
        draws: FloatArray = self.mean + self.scale * generator.standard_t(self.dof, count)
        return draws


@dataclass(frozen=True, slots=True)
class Propagation:
    """Estimate, standard uncertainty, and the symmetric and the shortest coverage interval."""

    estimate: float
    standard_uncertainty: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    draws: int


def propagate(
    model: Model, inputs: Mapping[str, Input], *, draws: int, seed: int, coverage_probability: float = 0.95
) -> Propagation:
    """Propagate the distributions of independent inputs through a model.

    Parameters
    ----------
    model : called with one array of shape (draws,) per input, by name; returns an array of that shape
    inputs : name to distribution
    draws, seed : number of trials, and the seed that makes the answer repeatable

    Source
    ------
    JCGM 101:2008, 7.2 to 7.7; checked against its examples 9.2, 9.3 and 9.4.
    """
    require_between(draws, 100, 100_000_000, "draws")
    generator = np.random.default_rng(seed)
    values = model(**{name: item.draw(generator, int(draws)) for name, item in inputs.items()})
    return summarise(values, coverage_probability)


def summarise(values: FloatArray, coverage_probability: float) -> Propagation:
    """Mean, standard deviation and coverage intervals of draws (JCGM 101, 7.6 and 7.7)."""
    ordered = np.sort(values)
    count = len(ordered)
    covered = min(count - 1, round(coverage_probability * count))
    first = (count - covered) // 2
    widths = ordered[covered:] - ordered[: count - covered]
    best = int(np.argmin(widths))
    return Propagation(
        estimate=float(ordered.mean()),
        standard_uncertainty=float(ordered.std(ddof=1)),
        symmetric=(float(ordered[first]), float(ordered[min(first + covered, count - 1)])),
        shortest=(float(ordered[best]), float(ordered[best + covered])),
        draws=count,
    )


def propagate_adaptively(
    model: Model,
    inputs: Mapping[str, Input],
    *,
    seed: int,
    digits: int = 2,
    coverage_probability: float = 0.95,
    batches_most: int = 1000,
) -> Propagation:
    """Propagate in batches until every result has settled to the last of ``digits`` digits of the uncertainty.

    Batches hold 10,000 trials, or 100/(1 - p) where that is more. It stops when twice the standard deviation of the
    averages of estimate, uncertainty and both ends of the interval is below the numerical tolerance.

    Source
    ------
    JCGM 101:2008, 7.9.
    """
    size = max(10_000, math.ceil(100.0 / (1.0 - coverage_probability)))
    generator = np.random.default_rng(seed)
    pools: list[FloatArray] = []
    rows: list[tuple[float, float, float, float]] = []
    while len(rows) < batches_most:
        values = model(**{name: item.draw(generator, size) for name, item in inputs.items()})
        pools.append(values)
        one = summarise(values, coverage_probability)
        rows.append((one.estimate, one.standard_uncertainty, *one.symmetric))
        if len(rows) > 1 and _settled(rows, digits):
            break
    return summarise(np.concatenate(pools), coverage_probability)


def _settled(rows: list[tuple[float, float, float, float]], digits: int) -> bool:
    table = np.array(rows)
    spread = table.std(axis=0, ddof=1) / math.sqrt(len(rows))
    return bool((2.0 * spread <= numerical_tolerance(float(table[:, 1].mean()), digits)).all())


def numerical_tolerance(standard_uncertainty: float, digits: int) -> float:
    """Half of the last digit that counts, when ``digits`` digits of the uncertainty do (JCGM 101, 7.9.2).

    Examples
    --------
    >>> numerical_tolerance(0.35, 2)
    0.005
    """
    if standard_uncertainty <= 0.0:
        return 0.0
    power = math.floor(math.log10(standard_uncertainty)) - (digits - 1)
    return 0.5 * 10.0**power
