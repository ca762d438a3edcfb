"""Changing the fleet's policy."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from checks.models import Policy
from checks.models.forecast import Basis
from checks.selectors.policy import current_policy
from checks.services.entry import Entry, Reader, keep
from fleet.models import Membership, User
from fleet.problems import FleetError, FleetErrors
from fleet.selectors import scope

DISTANCE = ("km", "mi")
# Field, its name in a sentence, the most that makes sense.
DISTANCES = {
    "first_look_km": ("The first look after fitting", 2_000_000.0),
    "usage_max_km": ("The longest run between checks", 2_000_000.0),
    "after_adjustment_km": ("The run after an adjustment", 2_000_000.0),
    "fallback_km_per_day": ("The rate of use", 3_000.0),
}
DAYS = {
    "first_look_days": "The time to the first look",
    "calendar_max_days": "The longest time between checks",
    "after_adjustment_days": "The time after an adjustment",
    "undecided_days": "The time to repeat an undecided check",
    "void_days": "The time to repeat a void check",
    "outside_days": "The time to mend a unit left outside",
    "complaint_days": "The time to answer a complaint",
    "risk_min_days": "The shortest time between checks that risk may ask for",
    "horizon_days": "The time to look ahead",
}
DAYS_MOST = 3660
# Chances, typed in per cent: field, its name in a sentence, least and most in per cent.
CHANCES = {
    "inside_level": ("The probability asked for", 50.1, 99.99),
    "risk_level": ("The chance of being outside that calls a unit in", 0.1, 49.9),
    "leaving_level": ("The chance that counts as leaving", 0.2, 99.0),
    "target_outside": ("The share found outside that is aimed at", 0.1, 49.9),
}
PLACES = {
    "one_policy_row": "",
    "inside_level_plausible": "inside_level",
    "policy_chances_plausible": "leaving_level",
}


@transaction.atomic
def change_policy(*, author: User, entry: Entry) -> Policy:
    """Change the one policy; `entry` must hold a ``reason``. Raises FleetErrors with every wrong field."""
    scope.require(author, Membership.Role.MANAGER)
    row = Policy.objects.select_for_update().filter(pk=1).first() or current_policy()
    reader = Reader(entry)
    for name, value in _values(reader).items():
        setattr(row, name, value)
    reason = reader.text("reason", "The reason", longest=100, required=True)
    reader.refuse_faults()
    row.typed = row.typed | reader.typed
    keep(row, author=author, places=PLACES, reason=reason)
    return row


def policy_as_typed(*, author: User, entry: Entry) -> Policy:
    """The policy that `entry` asks for, not saved, to look at what it would do. Raises FleetErrors as changing it does.

    The reason is not asked for yet.
    """
    scope.require(author, Membership.Role.MANAGER)
    row, reader = current_policy(), Reader(entry)
    for name, value in _values(reader).items():
        setattr(row, name, value)
    reader.refuse_faults()
    try:
        row.validate_constraints()
    except ValidationError as error:
        wrongs = [wrong for found in error.error_dict.values() for wrong in found]
        raise FleetErrors(
            [FleetError(str(wrong.code), PLACES.get(str(wrong.code), ""), " ".join(wrong.messages)) for wrong in wrongs]
        ) from error
    return row


def _values(reader: Reader) -> dict[str, Any]:
    """Every value that the entry names; what it does not name stays as it is."""
    values: dict[str, Any] = {}
    for name, (label, low, high) in CHANCES.items():
        if name in reader.entry:
            share = reader.quantity(name, label, ("%",), low=low, high=high, own={"%": float})
            values[name] = None if share is None else share / 100
    for name, (label, most) in DISTANCES.items():
        if name in reader.entry:
            values[name] = reader.quantity(name, label, DISTANCE, low=1, high=most)
    for name, label in DAYS.items():
        if name in reader.entry:
            values[name] = reader.whole(name, label, low=1, high=DAYS_MOST)
    if "usage_basis" in reader.entry:
        values["usage_basis"] = reader.choice("usage_basis", "What drift is counted in", dict(Basis.choices))
    return values
