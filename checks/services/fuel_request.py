"""Asking for the fleet's fuel to be fitted: loads nothing of what fitting needs."""

from checks.models import FuelFit, TruckMonth
from fleet.jobs.requests import enqueue

KIND = "fit-fuel"
# A burst of files or refits is one fit.
DEBOUNCE_S = 5.0


def request_fuel_fit(*, delay_s: float = DEBOUNCE_S) -> None:
    """Have the fleet's fuel fitted, once the burst of what touches it is over; nothing where there are no trips."""
    if TruckMonth.objects.exists() or FuelFit.objects.filter(is_current=True).exists():
        enqueue(kind=KIND, arguments={}, key=KIND, delay_s=delay_s)
