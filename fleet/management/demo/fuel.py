"""Loads trips by the imports' own fast way, forms their months, and prices of fuel."""

from datetime import UTC, datetime
from decimal import Decimal

import numpy as np

from checks.models import FuelPrice
from checks.services.moments import form_stale, next_cells
from fleet.imports.trips.store import lock_trips, write_trips
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.events import History
from fleet.management.demo.register import Rows
from fleet.management.demo.thirsts import CURRENCY, FUEL_PRICES
from fleet.management.demo.trips import TripSheet, trips_of
from fleet.selectors.trips import FLOATS, TRIP, Trips


def load_trips(rows: Rows, history: History, calendar: Calendar, seed: int) -> int:
    """Every trip of every truck, and the truck-months that they make; return how many trips there are."""
    sheets = [trips_of(history, truck, seed, calendar.monday) for truck in history.fleet.trucks]
    trips = np.concatenate([_as_stored(sheet, rows.trucks[sheet.truck].pk, calendar) for sheet in sheets])
    trips.sort(order=["truck", "started_s"])
    lock_trips()
    write_trips(trips, trips[:0])
    while cells := next_cells():
        form_stale(cells)
    return len(trips)


def _as_stored(sheet: TripSheet, truck: int, calendar: Calendar) -> Trips:
    begun = int(datetime.combine(calendar.monday, datetime.min.time(), UTC).timestamp())
    trips = np.empty(len(sheet.start), TRIP)
    trips["truck"], trips["started_s"] = truck, begun + np.round(sheet.start * 86_400.0).astype(np.int64)
    for name in FLOATS:
        trips[name] = getattr(sheet, name)
    return trips


def load_prices(rows: Rows, calendar: Calendar) -> None:
    """What fuel cost where, and from when on."""
    for depot, prices in FUEL_PRICES.items():
        for day, price in prices:
            FuelPrice.objects.create(
                depot=rows.depots[depot] if depot else None, valid_from=calendar.on(day), per_litre=Decimal(price),
                currency=CURRENCY, recorded_by=rows.manager, typed={"text": price, "unit": "L"},
            )  # fmt: skip
