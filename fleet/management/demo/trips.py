"""Two years of trips: two a working day, with a known physics of fuel, and the wastegate's true travel at that time."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from fleet.management.demo.cast import FIRST_DAY, LAST_DAY
from fleet.management.demo.events import History, Setting
from fleet.management.demo.fleet import (
    ROAD_BEGINS,
    ROAD_ENDS,
    SEASON_DAYS,
    Fitment,
    Truck,
    model_of,
    sheet_of,
)
from fleet.management.demo.streams import stream
from fleet.management.demo.thirsts import FUEL, THIRSTS

Floats = NDArray[np.float64]
# After a check in the morning a truck leaves at two, or an hour after a later one.
LEAVES_AFTER_CHECK, AN_HOUR, LATEST_LEAVE = 14 / 24, 60 / 1440, 18 / 24
STAYS_HOME_SHARE = 0.04
# Yard moves are in no trip.
RECORDED_SHARE = 0.98
LONGEST_DAYS = 6.5 / 24
MONTH_DAYS = SEASON_DAYS / 12


@dataclass(frozen=True, slots=True)
class TripSheet:
    """A truck's trips in the order of their starts; each array has one row a trip. ``start`` counts days."""

    truck: str
    start: Floats
    duration_s: Floats
    distance_km: Floats
    fuel_l: Floats
    payload_t: Floats
    ascent_m: Floats
    idle_s: Floats
    temperature_c: Floats
    odometer_km: Floats
    shortfall_mm: Floats
    excess_mm: Floats


@dataclass(frozen=True, slots=True)
class _Runs:
    """When a truck was on the road, and how far."""

    start: Floats
    days: Floats
    km: Floats
    odometer: Floats


def trips_of(history: History, truck: Truck, seed: int, monday: date) -> TripSheet:
    """All trips of a truck. ``monday`` is day 0, by which it is warm or cold."""
    random = stream(seed, "trips", truck.number)
    runs = _runs(history, truck, random)
    n, middle = len(runs.start), runs.start + runs.days / 2
    payload = np.clip(random.uniform(12.0, 20.0) + random.normal(0.0, 4.5, n), 0.0, 28.0).round(1)
    per_km = np.clip(random.uniform(5.0, 12.0) + random.normal(0.0, 2.5, n), 0.2, None)
    idle = random.uniform(0.03, 0.24, n)
    year_day = monday.timetuple().tm_yday + middle
    weather = 9.5 - 9.0 * np.cos(2 * np.pi * (year_day - 20) / SEASON_DAYS) + random.normal(0.0, 3.2, n)
    speed = runs.km / (24.0 * runs.days)
    short, beyond = outside_mm(history, truck, middle)
    log_fuel = (
        np.log(32.0)
        + random.normal(0.0, FUEL.level_spread)
        + FUEL.payload_t * (payload - 12.0)
        + FUEL.ascent_m_per_km * (per_km - 8.0)
        + FUEL.speed_kmh * (speed - 55.0)
        + FUEL.speed2 * (speed**2 - 3025.0)
        + FUEL.idle_share * (idle - 0.1)
        + FUEL.temperature_c * (weather - 12.0)
        + FUEL.shortfall_mm * short
        + FUEL.excess_mm * beyond
        + np.log1p(_thirst(truck, middle))
        + _months(random)[((runs.start - FIRST_DAY) // MONTH_DAYS).astype(int)]
        + random.normal(0.0, FUEL.trip_spread, n)
    )
    seconds = (86_400.0 * runs.days).round()
    return TripSheet(
        truck=truck.number, start=runs.start, duration_s=seconds, distance_km=runs.km,
        fuel_l=(np.exp(log_fuel) * runs.km / 100.0).round(1), payload_t=payload,
        ascent_m=(per_km * runs.km).round(), idle_s=(idle * seconds).round(), temperature_c=weather.round(1),
        odometer_km=runs.odometer.round(1), shortfall_mm=short, excess_mm=beyond,
    )  # fmt: skip


def _months(random: np.random.Generator) -> Floats:
    """What a truck's months share, whatever their cause: it wanders slowly, and each month has its own."""
    return np.cumsum(random.normal(0.0, FUEL.wander, 25)) + random.normal(0.0, FUEL.month_spread, 25)


def _runs(history: History, truck: Truck, random: np.random.Generator) -> _Runs:
    """Out in the morning and again after noon; on the day of a check only after it."""
    days = np.arange(max(FIRST_DAY, truck.in_service_day + 1), LAST_DAY + 1)
    days = days[(days % 7 < 5) & (random.random(len(days)) >= STAYS_HOME_SHARE)]
    n = len(days)
    free = _free_from(history, truck, days)
    seen = free > 0
    begun = truck.odometers_km(np.where(seen, days + free, days + ROAD_BEGINS))
    whole = (truck.odometers_km(days + ROAD_ENDS) - begun) * RECORDED_SHARE
    first = np.where(seen, 0.0, whole * random.uniform(0.4, 0.6, n)).round(1)
    second = (whole - first).round(1)
    leaves = days + ROAD_BEGINS + random.uniform(4.0, 44.0, n) / 1440.0
    lasts = _lasts(truck, first, random)
    again = leaves + lasts + random.uniform(20.0, 80.0, n) / 1440.0
    again = np.where(seen, days + free, np.maximum(again, days + 12.6 / 24))
    start = np.stack([leaves, again], axis=1).ravel()
    km = np.stack([first, second], axis=1).ravel()
    runs_days = np.stack([lasts, _lasts(truck, second, random)], axis=1).ravel()
    odometer = np.stack([begun, begun + first], axis=1).ravel()
    made = (km > 5.0) & (start - np.floor(start) <= LATEST_LEAVE)
    # Devices write whole seconds.
    start = np.round(start * 86_400.0) / 86_400.0
    return _Runs(start[made], runs_days[made], km[made], odometer[made])


def _lasts(truck: Truck, km: Floats, random: np.random.Generator) -> Floats:
    speed = np.minimum(truck.km_per_hour * np.exp(random.normal(0.0, 0.09, len(km))), 82.0)
    return np.minimum(np.maximum(km, 1.0) / speed / 24.0, LONGEST_DAYS)


def _free_from(history: History, truck: Truck, days: NDArray[np.int64]) -> Floats:
    """Hour, as a share of the day, from which a truck that is checked on a day may leave; 0 on other days."""
    free = np.zeros(len(days))
    for check in history.checks:
        if check.truck is truck and (place := np.flatnonzero(days == check.day)).size:
            free[place] = max(free[place[0]], LEAVES_AFTER_CHECK, check.minute / 1440.0 + AN_HOUR)
    return free


def _thirst(truck: Truck, moments: Floats) -> Floats:
    more = np.zeros(len(moments))
    for thirst in THIRSTS:
        if thirst.truck == truck.number:
            more += np.where((moments >= thirst.from_day) & (moments < thirst.to_day), thirst.share, 0.0)
    return more


def outside_mm(history: History, truck: Truck, moments: Floats) -> tuple[Floats, Floats]:
    """True shortfall and excess of a truck's travel (mm), the mean of its positions, against the window of that day."""
    short, beyond = np.zeros((2, len(moments)))
    windows = [(s.effective_day, sheet_of(s)) for s in model_of(truck.model).specifications]
    place = np.searchsorted([day for day, _ in windows], moments, side="right") - 1
    lower = np.array([sheet.lower_mm for _, sheet in windows])[place]
    upper = np.array([sheet.upper_mm for _, sheet in windows])[place]
    for fitment in history.fleet.fitments:
        if fitment.truck is not truck:
            continue
        there = (moments >= fitment.from_day) & (moments < (fitment.to_day if fitment.to_day is not None else np.inf))
        travel = travel_mm(history, fitment, moments[there])
        short[there] += np.maximum(0.0, lower[there] - travel) / len(truck.positions)
        beyond[there] += np.maximum(0.0, travel - upper[there]) / len(truck.positions)
    return short, beyond


def travel_mm(history: History, fitment: Fitment, moments: Floats) -> Floats:
    """True travel at the setting of a fitted unit, mm."""
    unit, settings = history.fleet.units[fitment.serial], history.settings[fitment.serial, fitment.truck.number]
    days = np.array([setting.day for setting in settings])
    place = np.maximum(np.searchsorted(days, moments, side="right") - 1, 0)
    run = fitment.truck.odometers_km(moments) - _of(settings, "odometer_km")[place]
    travel = _of(settings, "travel_mm")[place] + unit.drift_mm * run / 100_000.0
    if unit.jump:
        travel += np.where((days[place] < unit.jump[0]) & (moments >= unit.jump[0]), unit.jump[1], 0.0)
    return np.maximum(travel, 0.1)


def _of(settings: list[Setting], name: str) -> Floats:
    return np.array([getattr(setting, name) for setting in settings])
