"""What travel outside the window cost in fuel, month by month, and sums of it with their limits."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from checks.rules.epochs import Floats, Ints
from checks.rules.fuel import EXCESS, SHORTFALL, FuelFit
from checks.rules.truck_travel import TruckTravel

# 40 CFR 98, Table C-1, distillate fuel oil no. 2: 0.138 mmBtu and 73.96 kg CO2 per mmBtu, so 10.21 kg per US gallon.
KG_CO2_PER_LITRE = 0.138 * 73.96 / 3.785411784


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slopes of shortfall and excess in log fuel per mm, shape (2,), their covariance (2, 2), what their t limits use
    (2,), and which enough trucks carry. What they do not carry is 0 here: it makes no claim of cost.
    """

    beta: Floats
    cov: Floats
    dof: Floats
    carried: np.ndarray

    @staticmethod
    def of(fit: FuelFit) -> "Slopes":
        """The two slopes of a fit."""
        carried = np.array([fit.carries(term) for term in (SHORTFALL, EXCESS)])
        return Slopes.kept(fit.beta[SHORTFALL:], fit.cov[SHORTFALL:, SHORTFALL:], fit.dof[SHORTFALL:], carried)

    @staticmethod
    def kept(beta: Floats, cov: Floats, dof: Floats, carried: np.ndarray) -> "Slopes":
        """Of estimates as they are kept, what enough trucks carry."""
        both = np.outer(carried, carried)
        return Slopes(
            beta=np.where(carried, beta, 0.0),
            cov=np.where(both, np.nan_to_num(cov), 0.0),
            dof=np.where(carried, dof, 0.0),
            carried=carried,
        )

    def freedom(self, pull: Floats) -> Floats:
        """Degrees of freedom for sums that pull on the two slopes, shape (..., 2): those of the scarcer one.

        None at all where no slope is carried: a sum is then not told, rather than 0.
        """
        used = np.where((np.abs(pull) > 0) & self.carried, self.dof, np.inf)
        least = used.min(axis=-1)
        return np.asarray(np.where(np.isfinite(least), least, self.dof.max(initial=0.0)))


@dataclass(frozen=True, slots=True)
class Cost:
    """Litres that travel outside the window cost; shapes (n,), ``pull`` (n, 2).

    ``pull``: how much the litres move with each slope; ``travel_sd``: standard deviation from not knowing travel.
    """

    litres: Floats
    pull: Floats
    travel_sd: Floats

    def error(self, slopes: Slopes) -> Floats:
        """Standard error of the litres, from the slopes and from travel; shape (n,)."""
        told = np.einsum("ni,ij,nj->n", self.pull, slopes.cov, self.pull)
        return np.asarray(np.sqrt(np.maximum(told, 0.0) + self.travel_sd**2))


def monthly_cost(litres: Floats, travel: TruckTravel, slopes: Slopes) -> Cost:
    """Litres per truck-month that travel outside the window cost; nan where travel is unknown.

    Of the litres burnt, the share 1 - exp(-effect) would have been saved. Where travel is uncertain the effect is
    that of the expected shortfall and excess.
    """
    z = np.stack([travel.shortfall_mm, travel.excess_mm], axis=1)
    saved = np.exp(-(z @ slopes.beta)) * litres
    sd = np.hypot(travel.shortfall_sd_mm * slopes.beta[0], travel.excess_sd_mm * slopes.beta[1])
    return Cost(litres * -np.expm1(-(z @ slopes.beta)), saved[:, None] * z * slopes.carried, saved * sd)


def summed(cost: Cost, group: Ints, groups: int, *, apart: bool) -> Cost:
    """Sums by group, shape (groups,).

    apart : whether the rows of a group are of different trucks, whose travel is unknown apart; else they are months
        of one, where what is not known of travel stays about the same, and is added up.
    """

    def add(values: Floats) -> Floats:
        return np.asarray(np.bincount(group, values, groups), np.float64)

    return Cost(
        litres=add(cost.litres),
        pull=np.stack([add(cost.pull[:, side]) for side in (0, 1)], axis=1),
        travel_sd=np.sqrt(add(cost.travel_sd**2)) if apart else add(cost.travel_sd),
    )


def limits(value: float, error: float, dof: float, confidence: float = 0.95) -> tuple[float, float]:
    """Two-sided t limits; infinite without degrees of freedom."""
    if dof <= 0:
        return -np.inf, np.inf
    half = float(student.ppf((1 + confidence) / 2, dof)) * error
    return value - half, value + half
