"""What no truck does: values beyond these are errors of devices, units or columns.

All limits are common practice, no source: far beyond what heavy trucks do, so that only errors are refused.
"""

from dataclasses import dataclass

import numpy as np

from fleet.selectors.trips import Flags, Ints, Trips

MOST_SPEED_KMH = 130.0
LONGEST_TRIP_S = 24 * 3600.0
MOST_LITRES_PER_HOUR = 200.0
LEAST_LITRES_PER_100_KM = 4.0
# Idling and short trips use much on few kilometres: the rate is held against both distance and time.
MOST_LITRES_PER_100_KM = 1000.0
MOST_PAYLOAD_T = 150.0
MOST_ASCENT_M_PER_KM = 250.0
COLDEST_C, HOTTEST_C = -60.0, 60.0
MOST_ODOMETER_KM = 10_000_000.0
# Device clocks that lost their power begin before this.
EARLIEST_S = 946_684_800  # 2000-01-01
AHEAD_S = 24 * 3600


@dataclass(slots=True)
class Refusals:
    """Which lines are refused, each with the first reason found."""

    reason: Ints
    sentences: list[str]

    @classmethod
    def none_of(cls, count: int) -> "Refusals":
        """`count` lines, none refused yet."""
        return cls(np.zeros(count, np.int64), [""])

    def add(self, where: Flags, sentence: str) -> None:
        """Refuse lines, unless they are refused already."""
        fresh = where & (self.reason == 0)
        if fresh.any():
            self.sentences.append(sentence)
            self.reason[fresh] = len(self.sentences) - 1

    @property
    def fine(self) -> Flags:
        """Lines not refused."""
        return self.reason == 0


def refuse_impossible(trips: Trips, now_s: float, out: Refusals) -> None:
    """Refuse what no truck does; empty values are no error."""
    duration, distance, fuel = trips["duration_s"], trips["distance_km"], trips["fuel_l"]
    start = trips["started_s"]
    out.add(start < EARLIEST_S, "The start lies before the year 2000: was the device's clock unset?")
    out.add(start > now_s + AHEAD_S, "The start lies in the future: a clock was ahead, or day and month are swapped.")
    out.add(duration <= 0, "The trip does not end after its start.")
    out.add(duration > LONGEST_TRIP_S, "The trip lasts more than 24 h: a clock jumped, or trips were run together.")
    out.add(distance <= 0, "The distance is not above zero.")
    out.add(fuel <= 0, "The fuel is not above zero.")
    with np.errstate(all="ignore"):
        speed, per_hour, use = 3600 * distance / duration, 3600 * fuel / duration, 100 * fuel / distance
    out.add(speed > MOST_SPEED_KMH, _beyond("Distance over duration", "above", MOST_SPEED_KMH, "km/h"))
    out.add(use < LEAST_LITRES_PER_100_KM, _beyond("Fuel use", "below", LEAST_LITRES_PER_100_KM, "L/100 km"))
    out.add(use > MOST_LITRES_PER_100_KM, _beyond("Fuel use", "above", MOST_LITRES_PER_100_KM, "L/100 km"))
    out.add(per_hour > MOST_LITRES_PER_HOUR, _beyond("Fuel use", "above", MOST_LITRES_PER_HOUR, "L/h"))
    _refuse_conditions(trips, out)


def _refuse_conditions(trips: Trips, out: Refusals) -> None:
    payload, ascent, idle = trips["payload_t"], trips["ascent_m"], trips["idle_s"]
    temperature, odometer = trips["temperature_c"], trips["odometer_km"]
    out.add((payload < 0) | (payload > MOST_PAYLOAD_T), _outside("payload", 0, MOST_PAYLOAD_T, "t"))
    steep = ascent > MOST_ASCENT_M_PER_KM * trips["distance_km"]
    out.add((ascent < 0) | steep, _outside("ascent", 0, MOST_ASCENT_M_PER_KM, "m in each km"))
    out.add((idle < 0) | (idle > trips["duration_s"]), "Idling is not between zero and the trip's duration.")
    cold_or_hot = (temperature < COLDEST_C) | (temperature > HOTTEST_C)
    out.add(cold_or_hot, _outside("air temperature", COLDEST_C, HOTTEST_C, "°C"))
    out.add((odometer < 0) | (odometer > MOST_ODOMETER_KM), _outside("odometer", 0, MOST_ODOMETER_KM, "km"))


def _beyond(what: str, how: str, limit: float, unit: str) -> str:
    return f"{what} is {how} {limit:,.0f} {unit}, which no truck does. Check the units of the columns."


def _outside(what: str, low: float, high: float, unit: str) -> str:
    return f"The {what} is not between {low:,.0f} and {high:,.0f} {unit}. Check its unit."
