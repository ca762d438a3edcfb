"""Models whose checks were fitted again."""

from checks.models import DriftFit, Forecast
from checks.services.drift import refit
from checks.services.plan import all_turbochargers, replan


def refitted(fleet) -> DriftFit:
    replan(all_turbochargers())
    refit()
    return DriftFit.objects.get(is_current=True)


def forecast(unit) -> Forecast:
    return Forecast.objects.get(turbocharger=unit)
