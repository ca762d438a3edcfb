"""Planning a measurement study: in which order the readings are made, and what a study of that size can tell."""

import math
import random
from dataclasses import dataclass

from scipy.special import chdtri


@dataclass(frozen=True, slots=True)
class Turn:
    """One reading to make; each counts from 0."""

    part: int
    technician: int
    trial: int


def order(parts: int, technicians: int, trials: int, seed: int) -> tuple[Turn, ...]:
    """A random order: trial after trial, in each the technicians at random, and each reads all parts at random.

    So nobody meets the same part twice in a row within a trial, and drift of instruments does not look like a
    person. One seed gives one order on every machine: only the generator's uniform numbers are relied on.

    Source: AIAG, Measurement Systems Analysis (4th edition), conduct of a gauge study (from memory).
    """
    draw = random.Random(seed)  # noqa: S311  no secret: the seed stands on the sheet
    turns = []
    for trial in range(trials):
        for technician in sorted(range(technicians), key=[draw.random() for _ in range(technicians)].__getitem__):
            places = [draw.random() for _ in range(parts)]
            turns += [Turn(part, technician, trial) for part in sorted(range(parts), key=places.__getitem__)]
    return tuple(turns)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """What a study of so many can tell. ``doubt``: relative standard uncertainty of its repeatability.

    ``low`` and ``high``: the true repeatability lies between these times the found one, with 95 %.
    """

    parts: int
    technicians: int
    trials: int
    readings: int
    dof: int
    doubt: float
    low: float
    high: float


def size(parts: int, technicians: int, trials: int) -> Size:
    """Degrees of freedom of the repeatability before pooling, and how well that many tell it.

    Source: JCGM 100:2008, E.4.3 (E.7): a standard deviation of ``dof`` degrees of freedom is known to
    1 / sqrt(2 dof); the interval is that of a variance of normal readings by chi-square.
    """
    dof = parts * technicians * (trials - 1)
    return Size(
        parts=parts,
        technicians=technicians,
        trials=trials,
        readings=parts * technicians * trials,
        dof=dof,
        doubt=1 / math.sqrt(2 * dof),
        low=math.sqrt(dof / chdtri(dof, 0.025)),
        high=math.sqrt(dof / chdtri(dof, 0.975)),
    )


# Usual sizes, the smallest that is worth the work first. AIAG, Measurement Systems Analysis (4th edition): 10 parts,
# 3 appraisers, 2 or 3 trials (from memory); the smaller ones are common practice, no source.
USUAL = (size(5, 2, 2), size(5, 3, 2), size(8, 3, 2), size(10, 3, 2), size(10, 3, 3))
