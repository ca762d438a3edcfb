"""Units that are due at a bay, for tests of the week, the calendar and the mail."""

from datetime import timedelta
from typing import Any

from django.utils import timezone

from checks.models import Standing
from fleet.models import Turbocharger
from tests.bay import Bay
from tests.factories import (
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    TruckFactory,
    TurbochargerFactory,
)


def due_unit(bay: Bay, days: int, rule: str = "usage_maximum", **standing: Any) -> Turbocharger:
    """A unit in a truck of its own, due in `days` by one rule."""
    engine = EngineFactory(depot=bay.depot)
    InstallationFactory(truck=TruckFactory(depot=bay.depot), engine=engine)
    unit = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    FitmentFactory(turbocharger=unit, engine=engine)
    on = timezone.localdate() + timedelta(days=days)
    rules = [{"rule": rule, "on": on.isoformat(), "sentence": f"Due by {rule}; see it.", "inputs": {}}]
    Standing.objects.create(turbocharger=unit, due_on=on, binding_rule=rule, rules=rules, **standing)
    return unit


def number_of(unit: Turbocharger) -> str:
    """The unit number of the truck that a turbocharger is in."""
    return unit.fitments.get().engine.installations.get().truck.unit_number


def all_week(bay: Bay, room: int = 1) -> Bay:
    """Let a bay work every day, so that a test does not depend on the day on which it runs."""
    bay.depot.working_days, bay.depot.checks_per_day = "1234567", room
    bay.depot.save()
    return bay
