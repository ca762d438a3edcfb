"""Lives as the records tell them."""

from math import inf

from checks.models.forecast import Basis
from checks.selectors.life import model_lives
from tests.drifting_fleet import KM_PER_DAY


def lives(fleet, unit, basis=Basis.KM):
    """(entry, left, right) of each of a unit's lives, in days of its use."""
    per_day = KM_PER_DAY if basis == Basis.KM else KM_PER_DAY / 50
    found = model_lives(fleet.bay.turbocharger.model, basis)
    rows = [row for row in found.rows if row.turbocharger == unit.pk]
    return [tuple(x if x == inf else round(x / per_day) for x in (row.entry, row.left, row.right)) for row in rows]


def left_out(fleet):
    return model_lives(fleet.bay.turbocharger.model, Basis.KM).left_out
