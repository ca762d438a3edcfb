"""From a fitted fleet to the rows that pages read: truck-months, units' losses, and totals."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from checks.models import FuelFit, FuelLoss, FuelMonth, FuelTotal
from checks.rules.epochs import Floats, Ints
from checks.rules.fuel import Adjusted
from checks.rules.fuel_cost import Cost, Slopes, monthly_cost, summed
from checks.rules.moments import Cells
from checks.rules.thirst import Cusum
from checks.rules.truck_travel import TruckTravel
from checks.selectors.fuel import PERIODS
from checks.selectors.fuel_price import PriceBook


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that rows are made of. ``depot`` by truck and ``model`` by turbocharger, primary keys."""

    cells: Cells
    travel: TruckTravel
    adjusted: Adjusted
    thirst: Cusum
    slopes: Slopes
    prices: PriceBook
    depot: dict[int, int]
    model: dict[int, int]

    def cost(self) -> Cost:
        """Of each truck-month; nan where travel is unknown."""
        return monthly_cost(self.cells.litres, self.travel, self.slopes)


def month_table(sheet: Sheet, fit: FuelFit) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    """Names of the columns of `FuelMonth`, and a row for each truck-month: plain values, since there are many."""
    cells, travel, cost = sheet.cells, sheet.travel, sheet.cost()
    known, carried = travel.known, bool(sheet.slopes.carried.any())
    pull = np.where(known[:, None], cost.pull, 0.0)
    columns: dict[str, list[Any]] = {
        "fit_id": [fit.pk] * len(known),
        "truck_id": cells.truck.tolist(),
        "month": cells.month.tolist(),
        "litres": cells.litres.tolist(),
        "km": cells.weight.tolist(),
        "log_fuel": sheet.adjusted.log_fuel.tolist(),
        "standard_error": sheet.adjusted.standard_error.tolist(),
        "travel": travel.travel.tolist(),
        "turbocharger_id": [unit if unit >= 0 else None for unit in travel.turbocharger.tolist()],
        "shortfall_mm": _where(known, travel.shortfall_mm),
        "excess_mm": _where(known, travel.excess_mm),
        "extra_litres": _where(known & carried, cost.litres),
        "extra_litres_se": _where(known & carried, cost.error(sheet.slopes)),
        "per_shortfall": pull[:, 0].tolist(),
        "per_excess": pull[:, 1].tolist(),
        "cusum": sheet.thirst.high.tolist(),
        "thirsty": sheet.thirst.alarm.tolist(),
    }
    return tuple(columns), list(zip(*columns.values(), strict=True))


def _where(told: np.ndarray, values: Floats) -> list[float | None]:
    return [value if here else None for here, value in zip(told.tolist(), values.tolist(), strict=True)]


def loss_rows(sheet: Sheet, fit: FuelFit) -> Iterator[FuelLoss]:
    """One row per turbocharger of which any month is known."""
    units, cells, cost = sheet.travel.units, sheet.cells, sheet.cost()
    each, place = np.unique(units.turbocharger, return_inverse=True)
    month = cells.month[units.row]
    newest = np.lexsort((units.row, month, place))
    newest = newest[np.flatnonzero(np.diff(place[newest], append=-1))]
    share = units.share
    part = Cost(
        cost.litres[units.row] * share, cost.pull[units.row] * share[:, None], cost.travel_sd[units.row] * share
    )
    worth, currency = _worth(sheet, units.row)
    own = currency[newest]
    columns: dict[str, list[Any]] = {}
    last = int(cells.month.max(initial=0))
    for name, months in PERIODS.items():
        rows = np.flatnonzero(month > last - months) if months else np.arange(len(month))
        total = summed(
            Cost(part.litres[rows], part.pull[rows], part.travel_sd[rows]), place[rows], len(each), apart=False
        )
        mixed = np.bincount(place[rows], currency[rows] != own[place[rows]], len(each)) > 0
        money = np.asarray(np.bincount(place[rows], (part.litres * worth)[rows], len(each)), np.float64)
        columns[f"litres_{name}"] = total.litres.tolist()
        columns[f"litres_{name}_se"] = total.error(sheet.slopes).tolist()
        columns[f"money_{name}"] = _where(np.isfinite(money) & ~mixed & (own != ""), money)
    pull = total.pull
    for nth, row in enumerate(newest.tolist()):
        yield FuelLoss(
            fit=fit,
            turbocharger_id=int(each[nth]),
            truck_id=int(cells.truck[units.row[row]]),
            month=int(month[row]),
            currency=str(own[nth]),
            **_now(sheet, row, pull[nth]),
            **{name: column[nth] for name, column in columns.items()},
            thirsty=bool(sheet.thirst.alarm[units.row[row]]),
        )


def total_rows(sheet: Sheet, fit: FuelFit) -> Iterator[FuelTotal]:
    """Sums by depot, turbocharger model and month."""
    cells, travel, cost = sheet.cells, sheet.travel, sheet.cost()
    depot = np.array([sheet.depot[truck] for truck in cells.truck.tolist()], np.int64)
    model = np.array([sheet.model.get(unit, 0) for unit in travel.turbocharger.tolist()], np.int64)
    keys, place = np.unique(np.stack([cells.month, depot, model], axis=1), axis=0, return_inverse=True)
    place, known = place.reshape(-1), travel.known
    told = Cost(*(np.nan_to_num(column) for column in (cost.litres, cost.pull, cost.travel_sd)))
    total = summed(told, place, len(keys), apart=True)
    outside = known & (travel.travel != FuelMonth.Travel.INSIDE)
    counts = [np.bincount(place, values, len(keys)) for values in (np.ones(len(place)), ~known, outside)]
    km, litres = (np.bincount(place, values, len(keys)) for values in (cells.weight, cells.litres))
    for nth, (month, of_depot, of_model) in enumerate(keys.tolist()):
        price = sheet.prices.of(of_depot, month)
        yield FuelTotal(
            fit=fit,
            depot_id=of_depot,
            turbocharger_model_id=of_model or None,
            month=month,
            trucks=int(counts[0][nth]),
            unknown=int(counts[1][nth]),
            outside=int(counts[2][nth]),
            km=float(km[nth]),
            litres=float(litres[nth]),
            extra_litres=float(total.litres[nth]),
            per_shortfall=float(total.pull[nth, 0]),
            per_excess=float(total.pull[nth, 1]),
            travel_variance=float(total.travel_sd[nth] ** 2),
            money=float(total.litres[nth]) * price.per_litre if price else None,
            currency=price.currency if price else "",
        )


def _now(sheet: Sheet, row: int, pull: Floats) -> dict[str, Any]:
    """What a unit costs its truck in its last month, as log fuel."""
    units, slopes, travel = sheet.travel.units, sheet.slopes, sheet.travel
    cell, share = units.row[row], units.share[row]
    z = np.array([travel.shortfall_mm[cell], travel.excess_mm[cell]]) * share
    sd = share * np.hypot(travel.shortfall_sd_mm[cell] * slopes.beta[0], travel.excess_sd_mm[cell] * slopes.beta[1])
    high = bool(units.excess_mm[row] > units.shortfall_mm[row])
    told = bool(slopes.carried[int(high)])
    return {
        "shortfall_mm": float(units.shortfall_mm[row]),
        "excess_mm": float(units.excess_mm[row]),
        "travel_sd_mm": float((units.excess_sd_mm if high else units.shortfall_sd_mm)[row]),
        "effect": float(z @ slopes.beta) if told else 0.0,
        "effect_se": float(np.sqrt(z @ slopes.cov @ z + sd**2)) if told else 0.0,
        "dof": float(slopes.freedom(pull)),
        "told": told,
    }


def _worth(sheet: Sheet, row: Ints) -> tuple[Floats, np.ndarray]:
    """Price per litre and currency of rows of truck-months; nan and empty without a price."""
    cells, prices = sheet.cells, sheet.prices
    found = [
        prices.of(sheet.depot[truck], month)
        for truck, month in zip(cells.truck[row].tolist(), cells.month[row].tolist(), strict=True)
    ]
    worth = np.array([price.per_litre if price else np.nan for price in found], np.float64)
    return worth, np.array([price.currency if price else "" for price in found], "U3")
