"""Depots that read the same parts: which of them reads differently, and by how much?

The parts go round, so they cancel: one number a technician is left, the mean over parts and trials. Depots are compared
by the spread of those numbers within depots, since technicians, not readings, are what a depot's mean is uncertain by.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc, stdtrit

from checks.measurement.errors import MeasurementError

Floats = NDArray[np.float64]
CONFIDENCE = 0.95
# Of two depots that differ nobody can say which one is odd.
AGREEING_FEWEST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class DepotMean:
    """What a depot reads, mm. ``difference``: less the mean of the other depots that agree, within limits."""

    name: str
    technicians: int
    mean_mm: float
    difference_mm: float
    low_mm: float
    high_mm: float
    odd: bool

    @property
    def differs(self) -> bool:
        """Whether the limits leave no room for no difference."""
        return not self.low_mm <= 0.0 <= self.high_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Depots in the order given. ``f`` and ``p``: whether all depots may read alike; ``dof`` of the technicians."""

    depots: tuple[DepotMean, ...]
    parts: int
    dof: int
    technician_mm: float
    f: float
    p: float

    @property
    def odd(self) -> tuple[DepotMean, ...]:
        return tuple(depot for depot in self.depots if depot.odd)


def compare(depots: Mapping[str, ArrayLike]) -> Comparison:
    """Compare depots that read the same parts.

    Parameters
    ----------
    depots : readings by depot, shape (parts, technicians, trials), complete, the parts the same and in one order

    Limits hold for all depots together with 95 % (Bonferroni). The depot farthest from the others is set aside as odd
    when its limits exclude no difference, and the rest compared anew, as long as two others are left to agree.

    Raises
    ------
    MeasurementError
        ``depots_few``, ``parts_differ``, ``readings_missing``, ``technicians_few`` where nothing can be told.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3 (one-way layout) and 7.4.7.3 (Bonferroni).
    """
    tables = {name: np.asarray(values, dtype=np.float64) for name, values in depots.items()}
    _require(tables)
    by_technician = {name: table.mean(axis=(0, 2)) for name, table in tables.items()}
    dof = sum(len(row) - 1 for row in by_technician.values())
    if dof < 1:
        raise MeasurementError("technicians_few", "readings", "At least one depot needs two technicians.")
    within = sum(float(((row - row.mean()) ** 2).sum()) for row in by_technician.values())
    if within <= 0:
        raise MeasurementError(
            "study_flat", "readings", "All technicians read alike: read the dial to a finer division."
        )
    variance = within / dof
    reach = float(stdtrit(dof, 1.0 - (1.0 - CONFIDENCE) / (2.0 * len(tables))))
    odd = _set_aside(by_technician, variance, reach)
    f, p = _one_way(list(by_technician.values()), variance, dof)
    told = []
    for name, row in by_technician.items():
        others = [values for other, values in by_technician.items() if other != name and other not in odd]
        difference, error = _against(row, others, variance)
        told.append(
            DepotMean(
                name=name,
                technicians=len(row),
                mean_mm=float(row.mean()),
                difference_mm=difference,
                low_mm=difference - reach * error,
                high_mm=difference + reach * error,
                odd=name in odd,
            )
        )
    parts = next(iter(tables.values())).shape[0]
    return Comparison(depots=tuple(told), parts=parts, dof=dof, technician_mm=float(np.sqrt(variance)), f=f, p=p)


def _require(tables: Mapping[str, Floats]) -> None:
    if len(tables) < AGREEING_FEWEST:
        raise MeasurementError("depots_few", "readings", "A comparison needs at least two depots.")
    if any(table.ndim != 3 or min(table.shape) < 1 for table in tables.values()):
        raise MeasurementError("parts_differ", "readings", "Readings are laid out by part, technician and trial.")
    if len({table.shape[0] for table in tables.values()}) > 1:
        raise MeasurementError("parts_differ", "readings", "The depots must have read the same parts.")
    if not all(np.isfinite(table).all() for table in tables.values()):
        raise MeasurementError("readings_missing", "readings", "Every part needs every technician's every trial.")


def _set_aside(by_technician: Mapping[str, Floats], variance: float, reach: float) -> set[str]:
    odd: set[str] = set()
    while len(by_technician) - len(odd) > AGREEING_FEWEST:
        left = {name: row for name, row in by_technician.items() if name not in odd}
        far = {}
        for name, row in left.items():
            difference, error = _against(row, [values for other, values in left.items() if other != name], variance)
            far[name] = abs(difference) / error
        name = max(far, key=far.__getitem__)
        if far[name] <= reach:
            break
        odd.add(name)
    return odd


def _against(row: Floats, others: Sequence[Floats], variance: float) -> tuple[float, float]:
    """Mean less the mean of the other depots' means, and its standard error, mm."""
    middle = float(np.mean([values.mean() for values in others]))
    share = 1.0 / len(row) + sum(1.0 / len(values) for values in others) / len(others) ** 2
    return float(row.mean()) - middle, float(np.sqrt(variance * share))


def _one_way(rows: Sequence[Floats], variance: float, dof: int) -> tuple[float, float]:
    together = float(np.concatenate(rows).mean())
    between = sum(len(row) * (float(row.mean()) - together) ** 2 for row in rows) / (len(rows) - 1)
    f = between / variance
    return f, float(fdtrc(len(rows) - 1, dof, f))
