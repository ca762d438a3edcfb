"""Propagation of distributions by plain Monte Carlo: the other route to what ``budget`` and ``bend`` compute."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

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
    generator = np.random.default_rng(seed)
    values = model(**{name: item.draw(generator, draws) for name, item in inputs.items()})
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
    )
