"""What the current fuel fit says: effects, what travel outside the window cost, and which units lost most."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.db.models import QuerySet, Sum

from checks.models import FuelFit, FuelLoss, FuelTotal
from checks.rules.fuel import Effect
from checks.rules.fuel_cost import KG_CO2_PER_LITRE, Slopes, limits
from fleet.models import User
from fleet.selectors.scope import visible_to

SIDES = ("shortfall", "excess")
PERIODS = {"month": 1, "year": 12, "all": None}
# What lost less than this over a period is not listed: the rest of a window's width away from it.
LEAST_LITRES = 1.0


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity with its 95 % limits; infinite where too few trucks tell it."""

    value: float
    low: float
    high: float

    def at_least(self, least: float) -> "Amount":
        """With the lower limit no lower than ``least``, but never above the value."""
        return Amount(self.value, min(self.value, max(self.low, least)), self.high)

    @property
    def told(self) -> bool:
        """Whether it has limits at all."""
        return bool(np.isfinite(self.low) and np.isfinite(self.high))

    def times(self, factor: float) -> "Amount":
        """The same in another unit."""
        return Amount(self.value * factor, self.low * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Cost:
    """What travel outside the window cost in a period, in the trucks asked for.

    ``money`` by currency; ``unpriced``: litres lost at depots without any price, None where there are none.
    """

    first_month: int
    last_month: int
    litres: Amount
    burnt_litres: float
    money: dict[str, Amount]
    unpriced: Amount | None
    trucks: int
    unknown: int
    outside: int

    @property
    def co2_kg(self) -> Amount:
        """By the factor of 40 CFR 98, Table C-1."""
        return self.litres.times(KG_CO2_PER_LITRE)


def current_fit() -> FuelFit | None:
    """The current fuel fit, None before the first; one query."""
    return FuelFit.objects.filter(is_current=True).first()


def effect_of(said: dict[str, Any], side: str) -> Effect:
    """One side ('shortfall' or 'excess') of ``fit.estimates``, ``fit.plain`` or one of ``fit.groups``."""
    row = said["effects"][side]
    open_ended = {"error": np.inf, "low": -np.inf, "high": np.inf}
    columns: dict[str, Any] = {
        name: open_ended.get(name, 0.0) if value is None else value for name, value in row.items()
    }
    return Effect(**columns)


def slopes_of(fit: FuelFit) -> Slopes:
    """The two slopes that costs rest on, as stored."""
    terms = fit.estimates["terms"]
    rows = [terms.index(f"{side}_mm") for side in SIDES]
    carried = np.array([effect_of(fit.estimates, side).carried for side in SIDES])
    cov = np.array(fit.estimates["cov"], dtype=np.float64)[np.ix_(rows, rows)]
    beta, dof = (np.array(fit.estimates[name])[rows] for name in ("beta", "dof"))
    return Slopes.kept(beta, cov, dof, carried)


def costs(
    user: User, fit: FuelFit, *, depot: int | None = None, model: int | None = None, until: int | None = None
) -> dict[str, Cost]:
    """Cost of the last month, of the last twelve and of all, at the depots that `user` sees; one query of sums.

    With `until` (12 * year + month - 1) that month counts as the last.
    """
    last = fit.last_month if until is None else until
    rows = visible_to(user, FuelTotal.objects.filter(fit=fit), depot="depot")
    rows = rows.filter(**{name: key for name, key in (("depot", depot), ("turbocharger_model", model)) if key})
    names = ("trucks", "unknown", "outside", "litres", "extra_litres", "per_shortfall", "per_excess", "travel_variance")
    found: list[Any] = list(
        rows.order_by("month", "depot", "currency")
        .values("month", "depot", "currency")
        .annotate(**{f"sum_{name}": Sum(name) for name in names}, sum_money=Sum("money"))
    )
    slopes = slopes_of(fit)
    out = {}
    for period, months in PERIODS.items():
        first = fit.first_month if months is None else max(fit.first_month, last - months + 1)
        out[period] = _cost([row for row in found if first <= row["month"] <= last], slopes, first, last)
    return out


def _cost(rows: list[dict[str, Any]], slopes: Slopes, first: int, last: int) -> Cost:
    newest = [row for row in rows if row["month"] == last]
    currencies = sorted({row["currency"] for row in rows})
    each = {currency: [row for row in rows if row["currency"] == currency] for currency in currencies}
    return Cost(
        first_month=first,
        last_month=last,
        litres=_lost(rows, slopes),
        burnt_litres=float(sum(row["sum_litres"] for row in rows)),
        money={currency: _lost(here, slopes, priced=True) for currency, here in each.items() if currency},
        unpriced=_lost(each[""], slopes) if "" in each else None,
        trucks=sum(row["sum_trucks"] for row in newest),
        unknown=sum(row["sum_unknown"] for row in newest),
        outside=sum(row["sum_outside"] for row in newest),
    )


def _lost(rows: list[dict[str, Any]], slopes: Slopes, *, priced: bool = False) -> Amount:
    """What was lost in litres, or with ``priced`` in the one currency of the rows: a depot's price of a month is one.

    Nothing is told where no slope is, or where of no truck travel is known.
    """
    if not any(row["sum_trucks"] > row["sum_unknown"] for row in rows):
        return Amount(0.0, -np.inf, np.inf)
    value, pull = 0.0, np.zeros(2)
    # Of one month trucks are unknown apart; over months the same trucks are unknown alike.
    by_month: dict[int, float] = defaultdict(float)
    for row in rows:
        litres = row["sum_extra_litres"]
        worth = 1.0 if not priced else row["sum_money"] / litres if litres else 0.0
        value += worth * litres
        pull += worth * np.array([row["sum_per_shortfall"], row["sum_per_excess"]])
        by_month[row["month"]] += worth**2 * row["sum_travel_variance"]
    travel = float(np.sqrt(np.array(list(by_month.values()))).sum())
    error = float(np.sqrt(max(float(pull @ slopes.cov @ pull), 0.0) + travel**2))
    return Amount(value, *limits(value, error, float(slopes.freedom(pull))))


def losses_of(
    user: User, fit: FuelFit, *, period: str, depot: int | None = None, model: int | None = None
) -> QuerySet[FuelLoss]:
    """Units that lost fuel over a period and whose loss enough trucks tell, at the depots that `user` sees."""
    wanted = {"turbocharger__depot": depot, "turbocharger__model": model}
    rows = FuelLoss.objects.filter(fit=fit, told=True, **{f"litres_{period}__gte": LEAST_LITRES})
    rows = rows.filter(**{name: key for name, key in wanted.items() if key})
    return visible_to(user, rows, depot="turbocharger__depot").select_related(
        "turbocharger__depot", "turbocharger__model", "truck"
    )


def least_loss(fit: FuelFit) -> float:
    """What a unit can lose at least: nothing, where the fit says that being outside costs fuel on either side.

    A unit's limits are wide because its travel is not known, and travel can be no less outside than not at all.
    """
    effects = [effect_of(fit.estimates, side) for side in SIDES]
    return 0.0 if all(effect.low >= 0 for effect in effects if effect.carried) else -np.inf


def loss_amount(loss: FuelLoss, period: str, least: float = -np.inf) -> Amount:
    """Litres that a unit lost over a period; ``least`` is what `least_loss` says."""
    value, error = getattr(loss, f"litres_{period}"), getattr(loss, f"litres_{period}_se")
    return Amount(value, *limits(value, error, loss.dof)).at_least(least)


def loss_money(loss: FuelLoss, period: str, least: float = -np.inf) -> Amount | None:
    """What it is worth, in ``loss.currency``; None without a price."""
    worth, litres = getattr(loss, f"money_{period}"), loss_amount(loss, period, least)
    return None if worth is None or not litres.value else litres.times(worth / litres.value)


def effect_now(loss: FuelLoss, least: float = -np.inf) -> Amount:
    """More fuel than inside the window, as a share (0.019 is 1.9 %), in the unit's last month."""
    low, high = limits(loss.effect, loss.effect_se, loss.dof)
    return Amount(*(float(np.expm1(value)) for value in (loss.effect, low, high))).at_least(least)


def groups_of(fit: FuelFit, kind: str, keys: Iterable[int]) -> list[dict[str, Any]]:
    """The effects by 'model' or by 'depot' among `keys`."""
    wanted = set(keys)
    return [row for row in fit.groups if row["kind"] == kind and row["pk"] in wanted]
