"""A complaint about the truck of a bay."""

from datetime import date

from checks.models import FuelFit, FuelMonth
from checks.services.complaint import file_complaint

RAISED = date(2025, 3, 1)


def complaint(bay, raised_on=RAISED, **changes):
    said = {"kind": "fuel_economy", "raised_on": raised_on, "raised_by": "driver"} | changes
    return file_complaint(user=bay.technician, truck=bay.truck, **said)


def fuel(bay, last, percents, travel=0):
    """Months of trips up to the month `last`, so many per cent above 33 L/100 km each."""
    fit = FuelFit.objects.create(
        code_version="1", first_month=last, last_month=last, trucks=1, cells=1, trips=1, weight_km=1.0, columns="",
        residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip
    for back, percent in enumerate(reversed(percents)):
        FuelMonth.objects.create(
            fit=fit, truck=bay.truck, month=last - back, litres=3000, km=9000, log_fuel=3.5 + percent / 100,
            standard_error=0.004, travel=travel, turbocharger=bay.turbocharger,
        )  # fmt: skip
