"""What a wastegate outside its window costs in fuel, from truck-month moments.

Model of a trip: log(L/100 km) = truck + payload + ascent + speed + speed^2 + idle + temperature
+ shortfall + excess + noise, weighted by distance. Shortfall = max(0, lower limit - travel) and
excess = max(0, travel - upper limit) are the drift model's, one value per truck and month. Standard errors are
clustered by truck: leave-one-truck-out, with Student's t on the effective number of trucks, since with few trucks the
usual cluster formula is too small.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from checks.rules.epochs import Floats
from checks.rules.moments import COLUMNS, WIDTH, Cells

TERMS = (*COLUMNS[1:], "shortfall_mm", "excess_mm")
SHORTFALL, EXCESS = len(TERMS) - 2, len(TERMS) - 1
# A slope that rests on fewer trucks than this carries no claim of cost.
ENOUGH_TRUCKS = 4.0
# Travel told to less than this within every truck is no variation: what is left of it are tails of its distribution.
# Half a digit of a 0.01 mm dial (common practice, no source).
LEAST_SPREAD_MM = 0.005


@dataclass(frozen=True, slots=True)
class Effect:
    """One slope in log fuel per unit of its term, with its standard error, 95 % limits, and whether ``carried``: enough
    trucks tell it for a claim of cost. ``trucks``: their effective number.
    """

    slope: float
    error: float
    low: float
    high: float
    trucks: float
    carried: bool


@dataclass(frozen=True, slots=True)
class FuelFit:
    """Coefficients of `TERMS` in log fuel per unit, shape (k,).

    ``cov_cluster``: sandwich clustered by truck with the factor G / (G - 1) * (N - 1) / (N - K), K counting the
    truck effects as nested in clusters (not counted). ``cov``: leave-one-truck-out. ``dof`` = 1 / sum of squared
    shares of each slope's information, less one: what the t limits use. ``told`` says which terms vary at all.
    ``condition``: that of the cross products of the told terms, each scaled to one.
    """

    beta: Floats
    cov: Floats
    cov_cluster: Floats
    dof: Floats
    told: np.ndarray
    trucks: int
    rows: int
    weight_km: float
    residual_variance: float
    condition: float

    @property
    def digits(self) -> float:
        """Digits of the weightiest coefficient that sums of products keep; below 6 see `checks.rules.fuel_exact`."""
        return float(np.clip(16.0 - np.log10(max(self.condition, 1.0)), 0.0, 16.0))

    def limits(self, term: int, confidence: float = 0.95) -> tuple[float, float]:
        """Two-sided limits of one coefficient; infinite where too few trucks tell it."""
        if not self.told[term] or self.dof[term] <= 0:
            return -np.inf, np.inf
        half = float(student.ppf((1 + confidence) / 2, self.dof[term]) * np.sqrt(self.cov[term, term]))
        return float(self.beta[term] - half), float(self.beta[term] + half)

    def carries(self, term: int) -> bool:
        """Whether enough trucks tell this slope for a claim of cost."""
        return bool(self.told[term] and self.dof[term] + 1 >= ENOUGH_TRUCKS)

    def effect(self, term: int) -> Effect:
        """One slope with all that must be said beside it."""
        low, high = self.limits(term)
        error = float(np.sqrt(self.cov[term, term])) if self.told[term] else np.inf
        return Effect(float(self.beta[term]), error, low, high, float(self.dof[term] + 1), self.carries(term))


@dataclass(frozen=True, slots=True)
class _Truck:
    """Truck-demeaned moments: ``xx`` (g, k, k), ``xy`` (g, k), ``yy`` (g,); ``weight`` (g,)."""

    xx: Floats
    xy: Floats
    yy: Floats
    weight: Floats

    def told(self, raw: Floats) -> np.ndarray:
        """Terms that vary within trucks by more than rounding, travel by more than a dial shows; shape (k,)."""
        told = np.diag(self.xx.sum(axis=0)) > 1e-10 * np.maximum(raw, 1e-300)
        spread = np.sqrt(np.einsum("gii->gi", self.xx)[:, SHORTFALL:].clip(0.0) / self.weight[:, None])
        told[SHORTFALL:] &= spread.max(axis=0) >= LEAST_SPREAD_MM
        return np.asarray(told)


def fit_fuel(cells: Cells, shortfall_mm: Floats, excess_mm: Floats) -> FuelFit:
    """Fixed-effects weighted regression with errors clustered by truck.

    Parameters
    ----------
    cells : truck-month moments sorted by truck.
    shortfall_mm, excess_mm : shape (c,), travel below and above the window in that month, not negative.

    Raises
    ------
    ValueError
        With fewer than two trucks, or a shortfall or excess that is negative or not finite.

    Source: Cameron and Miller (2015), Journal of Human Resources 50, 317-372; leave-one-out: Bell and McCaffrey
    (2002), MacKinnon, Nielsen and Webb (2023), Journal of Econometrics 232, 272-299.
    """
    extra = np.stack([shortfall_mm, excess_mm], axis=1)
    if (extra < 0).any() or not np.isfinite(extra).all():
        raise ValueError("shortfall and excess must be finite and not negative")
    truck = _demeaned(cells, extra)
    if len(truck.yy) < 2:
        raise ValueError("the effect cannot be told from fewer than two trucks")
    xx, xy = truck.xx.sum(axis=0), truck.xy.sum(axis=0)
    told = truck.told(_raw_scale(cells, extra))
    keep = np.flatnonzero(told)
    grid = np.ix_(keep, keep)
    scale = 1 / np.sqrt(np.diag(xx)[keep])
    scaled = xx[grid] * np.outer(scale, scale)
    bread = scale[:, None] * np.linalg.pinv(scaled, hermitian=True) * scale
    k, beta = len(TERMS), np.zeros(len(TERMS))
    beta[keep] = bread @ xy[keep]
    rest = float(truck.yy.sum() - beta @ xy)
    cov_cluster, cov = np.full((k, k), np.nan), np.full((k, k), np.nan)
    scores = truck.xy[:, keep] - truck.xx[:, keep][:, :, keep] @ beta[keep]
    trucks, rows = len(truck.yy), int(cells.rows.sum())
    factor = trucks / (trucks - 1) * (rows - 1) / max(rows - len(keep), 1)
    cov_cluster[grid] = factor * bread @ scores.T @ scores @ bread
    cov[grid] = _leave_one_out(xx[grid], truck.xx[:, keep][:, :, keep], scores)
    return FuelFit(
        beta=beta,
        cov=cov,
        cov_cluster=cov_cluster,
        dof=_effective_trucks(xx[grid], truck.xx[:, keep][:, :, keep], keep) - 1.0,
        told=told,
        trucks=trucks,
        rows=rows,
        weight_km=float(cells.weight.sum()),
        residual_variance=rest / max(rows - trucks - len(keep), 1),
        condition=float(np.linalg.cond(scaled)) if len(keep) else 1.0,
    )


def _demeaned(cells: Cells, extra: Floats) -> _Truck:
    """Moments about each truck's own weighted mean, the two wastegate terms appended to the columns."""
    starts = np.flatnonzero(np.diff(cells.truck, prepend=cells.truck[0] - 1) if len(cells.truck) else [])
    width, trucks, months = WIDTH + 2, len(starts), len(cells.weight)
    if not trucks:
        return _Truck(np.zeros((0, width - 1, width - 1)), np.zeros((0, width - 1)), np.zeros(0), np.zeros(0))

    def add(columns: Floats, *shape: int) -> Floats:
        return np.add.reduceat(columns.reshape(months, -1), starts).reshape(trucks, *shape)

    weighed = cells.weight[:, None] * extra
    whole = np.empty((trucks, width, width))
    whole[:, :WIDTH, :WIDTH] = add(cells.products, WIDTH, WIDTH)
    whole[:, :WIDTH, WIDTH:] = add(cells.sums[:, :, None] * extra[:, None, :], WIDTH, 2)
    whole[:, WIDTH:, :WIDTH] = whole[:, :WIDTH, WIDTH:].transpose(0, 2, 1)
    whole[:, WIDTH:, WIDTH:] = add(weighed[:, :, None] * extra[:, None, :], 2, 2)
    total = np.concatenate([add(cells.sums, WIDTH), add(weighed, 2)], axis=1)
    weight = add(cells.weight)
    whole -= total[:, :, None] * total[:, None, :] / weight[:, None, None]
    return _Truck(whole[:, 1:, 1:], whole[:, 1:, 0], whole[:, 0, 0], weight)


def _raw_scale(cells: Cells, extra: Floats) -> Floats:
    """Squares of the terms about the reference, to tell what varies within trucks from rounding; shape (k,)."""
    own = np.einsum("cii->i", cells.products)[1:]
    added = (cells.weight[:, None] * extra**2).sum(axis=0)
    return np.concatenate([own, added])


def _leave_one_out(xx: Floats, each: Floats, scores: Floats) -> Floats:
    """(G - 1) / G times the sum of squared differences of the estimates without each truck, shape (k, k).

    beta without g differs by -(xx - xx_g)^-1 s_g. A truck that alone tells a slope makes that slope unknown.
    """
    left = xx - each
    scale = 1 / np.sqrt(np.diag(xx))
    scaled = left * np.outer(scale, scale)
    lonely = np.linalg.eigvalsh(scaled)[:, 0] < 1e-9
    scaled[lonely] += np.eye(len(xx)) * 1e-9
    moved = np.linalg.solve(scaled, (scores * scale)[:, :, None])[:, :, 0] * scale
    trucks = len(each)
    return np.asarray((trucks - 1) / trucks * moved.T @ moved)


def _effective_trucks(xx: Floats, each: Floats, keep: np.ndarray) -> Floats:
    """1 / sum of squared shares of each slope's information, the other terms taken out; shape (len(TERMS),)."""
    out = np.zeros(len(TERMS))
    inverse = np.linalg.pinv(xx, hermitian=True)
    for place, term in enumerate(keep):
        # Residual of this term after the others is x @ direction.
        direction = inverse[:, place] / inverse[place, place]
        share = np.einsum("i,gij,j->g", direction, each, direction)
        total = share.sum()
        out[term] = total**2 / (share**2).sum() if total > 0 else 0.0
    return out


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Adjusted log fuel use per truck-month less the truck's own mean and at the reference trip; shapes (c,)."""

    log_fuel: Floats
    standard_error: Floats


def adjusted_fuel(cells: Cells, fit: FuelFit) -> Adjusted:
    """Monthly log fuel use with payload, ascent, speed, idling and air temperature taken out, the wastegate left in.

    ``log_fuel`` is log(L/100 km) at the reference trip. The error is that of the month's noise alone.
    """
    mean = cells.sums / cells.weight[:, None]
    log_fuel = mean[:, 0] - mean[:, 1:] @ fit.beta[: WIDTH - 1]
    error = np.sqrt(fit.residual_variance / cells.weight)
    return Adjusted(np.asarray(log_fuel), np.asarray(error))
