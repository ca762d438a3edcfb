"""How far a turbocharger has run, from the odometers of the trucks that carried it. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """One stay on an engine; odometer in km at its beginning and end, None where not read or not over."""

    fitment: int
    began: date
    from_km: float | None
    to_km: float | None


def run_at(stays: Sequence[Stay], fitment: int | None, odometer_km: float | None) -> float | None:
    """Distance in km that a turbocharger had run when the odometer of the stay `fitment` read `odometer_km`.

    None where an odometer that is needed was not read, or reads less than at the beginning of its stay.
    """
    current = next((stay for stay in stays if stay.fitment == fitment), None)
    if current is None or odometer_km is None:
        return None
    earlier = [(s.from_km, s.to_km) for s in stays if (s.began, s.fitment) < (current.began, current.fitment)]
    total = 0.0
    for from_km, to_km in [*earlier, (current.from_km, odometer_km)]:
        if from_km is None or to_km is None or to_km < from_km:
            return None
        total += to_km - from_km
    return total
