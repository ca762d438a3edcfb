"""Units that fall due at a bay."""

from datetime import UTC, datetime, timedelta

from checks.models import Standing
from tests.factories import TurbochargerFactory

# A Monday, in a week without a change of the clocks.
MONDAY = datetime(2026, 6, 1, 9, tzinfo=UTC)


def due(bay, days, rule="usage_maximum", *, start=MONDAY, **standing):
    """A unit that is due some days after `start`, by one rule."""
    unit = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    on = start.date() + timedelta(days=days)
    rules = [{"rule": rule, "on": on.isoformat(), "sentence": "So it is.", "inputs": {}}]
    Standing.objects.create(turbocharger=unit, due_on=on, binding_rule=rule, rules=rules, **standing)
    return unit
