"""A crossed measurement study: how far do technicians and repeats move a reading?

p parts, each measured by o technicians t times, analysed by two-way analysis of variance with random effects.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import simpson
from scipy.special import fdtrc, ndtr, stdtrit

from checks.measurement.errors import MeasurementError
from checks.measurement.stroke import StudyFigures

Floats = NDArray[np.float64]
# An interaction less sure than this is pooled with the repeats.
POOL_ABOVE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaLine:
    """One source of variation; ``f`` and ``p`` are None for the error and the total."""

    source: str
    dof: int
    sum_of_squares: float
    mean_square: float | None
    f: float | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Result: standard deviations in the unit of the readings (mm), with the degrees of freedom of the first two.

    ``share_of_total`` and ``share_of_window``: 100 * sd / total sd, and 100 * 6 sd / window, by name. ``categories``:
    distinct categories, truncated. ``ranges`` and ``cell_means`` (technicians, parts) with their limits make the two
    charts. ``technician_limit``: half the interval (95 %) of one technician's mean about the mean of all.
    """

    table: tuple[AnovaLine, ...]
    pooled: bool
    repeatability: float
    repeatability_dof: float
    reproducibility: float
    reproducibility_dof: float
    interaction: float
    measurement: float
    part: float
    total: float
    share_of_total: dict[str, float]
    share_of_window: dict[str, float] | None
    categories: int
    technician_means: Floats
    technician_limit: float
    ranges: Floats
    range_limit: float
    cell_means: Floats
    mean_limits: tuple[float, float]

    def figures(self) -> StudyFigures:
        """What the uncertainty budget takes from it; interaction counts as reproducibility."""
        return StudyFigures(
            repeatability_mm=self.repeatability,
            repeatability_dof=self.repeatability_dof,
            reproducibility_mm=float(np.hypot(self.reproducibility, self.interaction)),
            reproducibility_dof=self.reproducibility_dof,
        )


def analyse(readings: ArrayLike, *, window: float | None = None) -> Study:
    """Analyse a study.

    Parameters
    ----------
    readings : shape (parts, technicians, trials), complete; at least 2 of each.
    window : upper less lower limit, in the unit of the readings, for the shares of the window.

    Raises
    ------
    MeasurementError
        When the shape is too small, a value is missing, or all readings are alike.

    Source: AIAG, Measurement Systems Analysis (4th edition), ANOVA method.
    """
    x = np.asarray(readings, dtype=np.float64)
    if x.ndim != 3 or min(x.shape) < 2:
        raise MeasurementError(
            "study_too_small", "readings", "A study needs at least 2 parts, 2 technicians, 2 trials."
        )
    if not np.isfinite(x).all():
        raise MeasurementError("study_incomplete", "readings", "Every part needs every technician's every trial.")
    parts, technicians, trials = x.shape
    ss, dof = _sums_of_squares(x)
    if ss["total"] <= 0:
        raise MeasurementError("study_flat", "readings", "All readings are alike: read the dial to a finer division.")
    crossed = ss["interaction"] / dof["interaction"]
    error = ss["error"] / dof["error"]
    p_crossed = float(fdtrc(dof["interaction"], dof["error"], crossed / error)) if error > 0 else 0.0
    pooled = p_crossed > POOL_ABOVE
    noise_dof = dof["error"] + (dof["interaction"] if pooled else 0)
    noise = (ss["error"] + (ss["interaction"] if pooled else 0.0)) / noise_dof
    base, base_dof = (noise, noise_dof) if pooled else (crossed, dof["interaction"])
    by_technician, by_part = ss["technician"] / dof["technician"], ss["part"] / dof["part"]
    variance = {
        "repeatability": noise,
        "reproducibility": max(0.0, (by_technician - base) / (parts * trials)),
        "interaction": 0.0 if pooled else max(0.0, (crossed - error) / trials),
        "part": max(0.0, (by_part - base) / (technicians * trials)),
    }
    sd = _deviations(variance)
    ranges, means = np.ptp(x, axis=2).T, x.mean(axis=2).T
    of_ranges, of_means = chart_factors(trials)
    reach = of_means * ranges.mean()
    return Study(
        table=_table(ss, dof, base, base_dof, p_crossed, crossed, error),
        pooled=pooled,
        repeatability=sd["repeatability"],
        repeatability_dof=float(noise_dof),
        reproducibility=sd["reproducibility"],
        reproducibility_dof=_satterthwaite(by_technician, dof["technician"], base, base_dof),
        interaction=sd["interaction"],
        measurement=sd["measurement"],
        part=sd["part"],
        total=sd["total"],
        share_of_total={name: 100 * value / sd["total"] for name, value in sd.items()},
        share_of_window={name: 600 * value / window for name, value in sd.items()} if window else None,
        categories=int(np.sqrt(2) * sd["part"] / sd["measurement"]) if sd["measurement"] > 0 else 0,
        technician_means=x.mean(axis=(0, 2)),
        technician_limit=float(stdtrit(base_dof, 0.975) * np.sqrt(base * (1 - 1 / technicians) / (parts * trials))),
        ranges=ranges,
        range_limit=float(ranges.mean() * of_ranges),
        cell_means=means,
        mean_limits=(float(x.mean() - reach), float(x.mean() + reach)),
    )


def _deviations(variance: dict[str, float]) -> dict[str, float]:
    """Standard deviations of the components, of the measurement as a whole, and of all together."""
    measurement = sum(value for name, value in variance.items() if name != "part")
    whole = variance | {"measurement": measurement, "total": measurement + variance["part"]}
    return {name: float(np.sqrt(value)) for name, value in whole.items()}


def _sums_of_squares(x: Floats) -> tuple[dict[str, float], dict[str, int]]:
    """Sums of squares about means taken out first, so that leading digits do not cancel."""
    parts, technicians, trials = x.shape
    y = x - x.mean()
    part, technician, cell = y.mean(axis=(1, 2)), y.mean(axis=(0, 2)), y.mean(axis=2)
    crossed = cell - part[:, None] - technician[None, :] + y.mean()
    ss = {
        "technician": parts * trials * float((technician**2).sum()),
        "part": technicians * trials * float((part**2).sum()),
        "interaction": trials * float((crossed**2).sum()),
        "error": float(((y - cell[:, :, None]) ** 2).sum()),
        "total": float((y**2).sum()),
    }
    dof = {
        "technician": technicians - 1,
        "part": parts - 1,
        "interaction": (parts - 1) * (technicians - 1),
        "error": parts * technicians * (trials - 1),
        "total": parts * technicians * trials - 1,
    }
    return ss, dof


def _table(
    ss: dict[str, float],
    dof: dict[str, int],
    base: float,
    base_dof: int,
    p_crossed: float,
    crossed: float,
    error: float,
) -> tuple[AnovaLine, ...]:
    lines = []
    for source in ("technician", "part"):
        mean = ss[source] / dof[source]
        f = mean / base if base > 0 else float("inf")
        p = float(fdtrc(dof[source], base_dof, f)) if base > 0 else 0.0
        lines.append(AnovaLine(source=source, dof=dof[source], sum_of_squares=ss[source], mean_square=mean, f=f, p=p))
    ratio = crossed / error if error > 0 else float("inf")
    lines.append(
        AnovaLine(
            source="interaction",
            dof=dof["interaction"],
            sum_of_squares=ss["interaction"],
            mean_square=crossed,
            f=ratio,
            p=p_crossed,
        )
    )
    lines.append(
        AnovaLine(source="error", dof=dof["error"], sum_of_squares=ss["error"], mean_square=error, f=None, p=None)
    )
    lines.append(
        AnovaLine(source="total", dof=dof["total"], sum_of_squares=ss["total"], mean_square=None, f=None, p=None)
    )
    return tuple(lines)


def _satterthwaite(by_technician: float, dof: int, base: float, base_dof: int) -> float:
    """Degrees of freedom of the difference of two mean squares; at least one."""
    difference = by_technician - base
    if difference <= 0:
        return float(dof)
    return float(max(1.0, difference**2 / (by_technician**2 / dof + base**2 / base_dof)))


@lru_cache
def chart_factors(trials: int) -> tuple[float, float]:
    """D4 of the chart of ranges and A2 of the chart of means: times the mean range of so many normal readings.

    D4 = 1 + 3 d3/d2 and A2 = 3 / (d2 sqrt(trials)), with d2 and d3 the mean and standard deviation of the range of
    standard normal readings, here from its distribution.
    """
    r, x = np.linspace(0.0, 14.0, 561), np.linspace(-9.0, 9.0, 721)
    density = np.exp(-0.5 * x**2) / np.sqrt(2 * np.pi)
    beyond = 1.0 - trials * simpson(density * (ndtr(x + r[:, None]) - ndtr(x)) ** (trials - 1), x=x)
    mean, square = simpson(beyond, x=r), simpson(2 * r * beyond, x=r)
    spread = np.sqrt(square - mean**2)
    return float(1 + 3 * spread / mean), float(3 / (mean * np.sqrt(trials)))
