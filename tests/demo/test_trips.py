"""The demonstration's trips: what an import would take, and the planted effect of the wastegate in them."""

from datetime import date

import numpy as np
import pytest

from checks.rules.fuel import EXCESS, SHORTFALL, fit_fuel
from checks.rules.moments import columns_of, form_cells
from fleet.imports.trips.limits import Refusals, refuse_impossible
from fleet.imports.trips.order import sort_out
from fleet.management.demo.events import History
from fleet.management.demo.streams import SEED
from fleet.management.demo.thirsts import FUEL, THIRSTS
from fleet.management.demo.trips import TripSheet, trips_of
from fleet.selectors.trips import FLOATS, TRIP

MONDAY = date(2026, 3, 2)
MONDAY_S = 1_772_409_600


@pytest.fixture(scope="module")
def sheets(history: History) -> list[TripSheet]:
    return [trips_of(history, truck, SEED, MONDAY) for truck in history.fleet.trucks]


def every(sheets: list[TripSheet], name: str) -> np.ndarray:
    return np.concatenate([getattr(sheet, name) for sheet in sheets])


def test_the_same_seed_gives_the_same_trips(history: History, sheets: list[TripSheet]):
    again = trips_of(history, history.fleet.trucks[3], SEED, MONDAY)
    assert all((getattr(again, name) == getattr(sheets[3], name)).all() for name in FLOATS)


def test_about_two_trips_a_working_day(sheets: list[TripSheet]):
    days = [len(np.unique(np.floor(sheet.start))) for sheet in sheets]
    assert 1.8 < sum(len(sheet.start) for sheet in sheets) / sum(days) <= 2.0
    assert np.median(days) > 480  # of 522 weekdays in two years
    assert (np.floor(every(sheets, "start")) % 7 < 5).all()


def test_an_import_would_refuse_none_of_them(sheets: list[TripSheet]):
    trips = np.empty(len(every(sheets, "start")), TRIP)
    trips["truck"] = np.repeat(np.arange(len(sheets)) + 1, [len(sheet.start) for sheet in sheets])
    trips["started_s"] = MONDAY_S + np.round(every(sheets, "start") * 86_400).astype(int)
    for name in FLOATS:
        trips[name] = every(sheets, name)
    refused = Refusals.none_of(len(trips))
    refuse_impossible(trips, MONDAY_S + 86_400, refused)
    assert refused.fine.all()
    found = sort_out(trips, trips[:0], {})
    assert not found.wrong.any()
    assert found.new.all()


def test_odometers_of_checks_lie_between_those_of_the_trips(history: History, sheets: list[TripSheet]):
    of = {sheet.truck: sheet for sheet in sheets}
    for check in history.checks:
        sheet, meter = of[check.truck.number], check.truck.odometer_km(check.moment)
        before = np.flatnonzero(sheet.start < check.moment)
        after = np.flatnonzero(sheet.start >= check.moment)
        if before.size:
            last = before[-1]
            assert sheet.start[last] + sheet.duration_s[last] / 86_400 <= check.moment
            assert sheet.odometer_km[last] + sheet.distance_km[last] <= meter + 0.2
        if after.size:
            assert meter <= sheet.odometer_km[after[0]] + 0.2


def test_with_travel_known_the_planted_effects_come_out_within_their_limits(sheets: list[TripSheet]):
    truck = np.repeat(np.arange(len(sheets)), [len(sheet.start) for sheet in sheets])
    month = (every(sheets, "start") // 30.4).astype(int)
    km, hours = every(sheets, "distance_km"), every(sheets, "duration_s") / 3600
    rows = columns_of(
        every(sheets, "fuel_l"), km, every(sheets, "payload_t"), every(sheets, "ascent_m"), hours,
        every(sheets, "idle_s") / 3600, every(sheets, "temperature_c"),
    )  # fmt: skip
    cells = form_cells(truck, month, rows, km, every(sheets, "fuel_l"))
    _, cell = np.unique(truck * 1000 + month, return_inverse=True)
    short, beyond = (
        np.bincount(cell, km * every(sheets, name)) / np.bincount(cell, km) for name in ("shortfall_mm", "excess_mm")
    )
    fit = fit_fuel(cells, short, beyond)
    for term, planted in ((SHORTFALL, FUEL.shortfall_mm), (EXCESS, FUEL.excess_mm)):
        low, high = fit.limits(term, 0.99)
        assert low < planted < high
        assert low > 0
        assert fit.carries(term)


def test_thirsty_trucks_stand_inside_while_they_are_thirsty(sheets: list[TripSheet]):
    for thirst in THIRSTS:
        sheet = next(sheet for sheet in sheets if sheet.truck == thirst.truck)
        then = (sheet.start >= thirst.from_day) & (sheet.start < thirst.to_day)
        assert then.sum() > 100
        assert not (sheet.shortfall_mm + sheet.excess_mm)[then].any()


def test_silent_trucks_stand_outside_and_nobody_complained(history: History, sheets: list[TripSheet]):
    for serial in history.fleet.planted["silent"]:
        fitment = next(f for f in history.fleet.fitments if f.serial == serial)
        sheet = next(sheet for sheet in sheets if sheet.truck == fitment.truck.number)
        then = sheet.start > fitment.from_day + 1
        assert (sheet.shortfall_mm + sheet.excess_mm)[then].min() > 0.2
        said = [c for c in history.complaints if c.truck is fitment.truck and c.raised_day > fitment.from_day]
        assert not said
