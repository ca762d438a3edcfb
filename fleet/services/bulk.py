"""Many rows at once, each with its entry in the record of changes."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Model
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from fleet.models import (
    Complaint,
    Engine,
    Fitment,
    Installation,
    MeterReading,
    Truck,
    Turbocharger,
    TurbochargerModel,
    User,
)
from fleet.problems import FleetError

# What others point to comes first.
ORDER: tuple[type[Model], ...] = (
    TurbochargerModel,
    Truck,
    Engine,
    Installation,
    Turbocharger,
    Fitment,
    MeterReading,
    Complaint,
)
BATCH = 500


@transaction.atomic
def save_in_bulk(*, user: User, new: Iterable[Any], changed: Iterable[tuple[Any, set[str]]], reason: str) -> None:
    """Write rows that were held against every rule before; all of them or none.

    Raises FleetError when somebody else wrote a conflicting row meanwhile.
    """
    to_create: dict[type[Model], list[Any]] = defaultdict(list)
    to_change: dict[type[Model], dict[int, Any]] = defaultdict(dict)
    fields: dict[type[Model], set[str]] = defaultdict(set)
    for row in new:
        to_create[type(row)].append(row)
    for row, names in changed:
        to_change[type(row)][row.pk] = row
        fields[type(row)] |= names
    author: dict[str, Any] = {"batch_size": BATCH, "default_user": user, "default_change_reason": reason[:100]}
    try:
        for model in ORDER:
            if to_change[model]:
                rows = list(to_change[model].values())
                bulk_update_with_history(rows, model, sorted(fields[model]), **author)
        for model in ORDER:
            if to_create[model]:
                bulk_create_with_history(to_create[model], model, **author)
    except IntegrityError as error:
        raise FleetError(
            "register_changed",
            "",
            "Somebody changed the register meanwhile. Nothing was written; try again.",
            status=409,
        ) from error
