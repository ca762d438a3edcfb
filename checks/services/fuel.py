"""The fleet's fuel effect: derived from moments and readings, made anew at will with the same numbers."""

import hashlib
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from django.db import connection, transaction

from checks.convert import CODE_VERSION, jsonable
from checks.models import FuelFit, FuelLoss, FuelMonth, FuelTotal, TruckMonth
from checks.rules import fuel as rule
from checks.rules.fuel_cost import Slopes
from checks.rules.fuel_picture import points_of
from checks.rules.moments import COLUMNS, Cells
from checks.rules.thirst import monthly_alarm
from checks.rules.truck_travel import TruckTravel, truck_travel
from checks.selectors.fuel_price import price_book
from checks.selectors.fuel_travel import TravelRead, travel_of_fleet
from checks.selectors.months import cells_from
from checks.services.fuel_rows import Sheet, loss_rows, month_table, total_rows
from fleet.models import Depot, Truck, Turbocharger, TurbochargerModel

CHUNK = 400
LOSS = [f.name for f in FuelLoss._meta.fields if f.name not in {"id", "turbocharger"}]
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Prepared:
    """The fleet fitted, nothing written yet. ``fit`` is None where there are fewer than two trucks with trips."""

    sheet: Sheet | None
    fit: rule.FuelFit | None
    columns: Json
    inputs: str


def prepare_fuel() -> Prepared:
    """Fit the whole fleet's fuel against travel; reads only."""
    cells = cells_from(TruckMonth.objects.all())
    if len(np.unique(cells.truck)) < 2:
        return Prepared(None, None, {}, "")
    read = travel_of_fleet(int(cells.month.min()), int(cells.month.max()))
    travel = truck_travel(read.pieces, cells.truck, cells.month)
    counted = _counted(cells, travel)
    fit = _fit(cells, travel, counted)
    adjusted = rule.adjusted_fuel(cells, fit)
    thirst = monthly_alarm(adjusted.log_fuel, cells.truck)
    trucks = dict(Truck.objects.order_by().values_list("pk", "depot"))
    units = dict(Turbocharger.objects.order_by().values_list("pk", "model"))
    sheet = Sheet(cells, travel, adjusted, thirst, Slopes.of(fit), price_book(), trucks, units)
    columns = _columns(sheet, fit, counted, read)
    return Prepared(sheet, fit, columns, _digest(sheet, columns))


def store_fuel(prepared: Prepared, *, anew: bool = False) -> FuelFit | None:
    """Make the fit current with all that follows from it, in one transaction.

    One whose inputs did not change keeps its rows unless they are asked for ``anew``. Without a fit, what was there
    goes.
    """
    current = FuelFit.objects.filter(is_current=True)
    with transaction.atomic():
        known = current.filter(inputs=prepared.inputs).first()
        if known and not anew:
            return known
        if prepared.sheet is None:
            current.update(is_current=False)
            for rows in (FuelMonth, FuelLoss, FuelTotal):
                rows.objects.all().delete()
            return None
        if not known:
            current.update(is_current=False)
        fit = known or FuelFit.objects.create(inputs=prepared.inputs, **prepared.columns)
        _write(prepared.sheet, fit)
    return fit


def fit_fleet(*, anew: bool = False) -> FuelFit | None:
    """Fit and store here and now."""
    return store_fuel(prepare_fuel(), anew=anew)


def _counted(cells: Cells, travel: TruckTravel) -> np.ndarray:
    """Truck-months in the fit: those of known travel, where at least two trucks have such; else all, for the rest."""
    known = travel.known
    return known if len(np.unique(cells.truck[known])) > 1 else np.ones(len(known), bool)


def _fit(cells: Cells, travel: TruckTravel, counted: np.ndarray, *, plain: bool = False) -> rule.FuelFit:
    columns = (travel.plain_shortfall_mm, travel.plain_excess_mm) if plain else (travel.shortfall_mm, travel.excess_mm)
    shortfall, excess = (np.nan_to_num(column[counted]) for column in columns)
    return rule.fit_fuel(cells.where(counted), shortfall, excess)


def _columns(sheet: Sheet, fit: rule.FuelFit, counted: np.ndarray, read: TravelRead) -> Json:
    cells, travel = sheet.cells, sheet.travel
    log_fuel, slopes = sheet.adjusted.log_fuel, sheet.slopes
    return {
        "code_version": CODE_VERSION,
        "first_month": int(cells.month.min()),
        "last_month": int(cells.month.max()),
        "trucks": fit.trucks,
        "cells": int(travel.known.sum()),
        "cells_unknown": int((~travel.known).sum()),
        "trips": fit.rows,
        "weight_km": fit.weight_km,
        "columns": ",".join(rule.TERMS),
        "residual_variance": fit.residual_variance,
        "estimates": _estimates(fit) | {"effects": _effects(fit), "digits": round(fit.digits, 1)},
        "plain": {"effects": _effects(_fit(cells, travel, counted, plain=True))},
        "groups": _groups(sheet, counted),
        "picture": {
            "points": jsonable([asdict(p) for p in points_of(cells.truck, cells.weight, log_fuel, travel, slopes)])
        },
        "derived_from": {"drift_fits": read.fits, "columns": ",".join(COLUMNS)},
    }


def _groups(sheet: Sheet, counted: np.ndarray) -> list[Json]:
    """The same fit by turbocharger model and by depot, where two trucks or more tell of it."""
    cells, travel = sheet.cells, sheet.travel
    depot = np.array([sheet.depot[truck] for truck in cells.truck.tolist()], np.int64)
    model = np.array([sheet.model.get(unit, 0) for unit in travel.turbocharger.tolist()], np.int64)
    names = {
        "model": dict(TurbochargerModel.objects.order_by("name").values_list("pk", "name")),
        "depot": dict(Depot.objects.order_by("name").values_list("pk", "name")),
    }
    out = []
    for kind, of in (("model", model), ("depot", depot)):
        for pk, name in names[kind].items():
            rows = counted & (of == pk)
            if len(np.unique(cells.truck[rows])) > 1:
                fit = _fit(cells, travel, rows)
                out.append({"kind": kind, "pk": pk, "name": name, "trucks": fit.trucks, "effects": _effects(fit)})
    return out


def _estimates(fit: rule.FuelFit) -> Json:
    names = ("beta", "cov", "cov_cluster", "dof", "told")
    return {"terms": list(rule.TERMS)} | {name: jsonable(getattr(fit, name).tolist()) for name in names}


def _effects(fit: rule.FuelFit) -> Json:
    sides = (("shortfall", rule.SHORTFALL), ("excess", rule.EXCESS))
    return {name: jsonable(asdict(fit.effect(term))) for name, term in sides}


def _digest(sheet: Sheet, columns: Json) -> str:
    """Of everything that rows are made of, and of the code that makes them."""
    digest = hashlib.sha256(repr((columns, sheet.prices.rows, sheet.depot, sheet.model)).encode())
    cells, travel = sheet.cells, sheet.travel
    arrays: Iterable[np.ndarray] = (
        cells.truck, cells.month, cells.litres, sheet.adjusted.log_fuel, travel.travel, travel.turbocharger,
        travel.shortfall_mm, travel.excess_mm, travel.units.turbocharger, travel.units.share, sheet.thirst.high,
    )  # fmt: skip
    for array in arrays:
        digest.update(np.ascontiguousarray(array).tobytes())
    return digest.hexdigest()


def _write(sheet: Sheet, fit: FuelFit) -> None:
    """Months and losses keep their keys; what no longer has a row goes."""
    names, rows = month_table(sheet, fit)
    kept = [name for name in names if name not in {"truck_id", "month"}]
    marks = ", ".join(["%s"] * len(names))
    upsert = (
        f"INSERT INTO checks_fuelmonth ({', '.join(names)}) VALUES ({marks}) "  # noqa: S608 only our names
        f"ON CONFLICT (truck_id, month) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in kept)}"
    )
    with connection.cursor() as cursor:
        cursor.executemany(upsert, rows)
    FuelMonth.objects.exclude(fit=fit).delete()
    FuelLoss.objects.bulk_create(
        loss_rows(sheet, fit),
        update_conflicts=True,
        unique_fields=["turbocharger"],
        update_fields=LOSS,
        batch_size=CHUNK,
    )
    FuelLoss.objects.exclude(fit=fit).delete()
    FuelTotal.objects.all().delete()
    FuelTotal.objects.bulk_create(total_rows(sheet, fit), batch_size=CHUNK)
