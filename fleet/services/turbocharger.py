"""Turbocharger models, turbochargers, and notes on them."""

from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from fleet.models import Depot, Membership, Note, Turbocharger, TurbochargerModel, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was
from fleet.services.saving import Faults, assign, save_checked


@transaction.atomic
def add_model(*, user: User, name: str, stimulus: str, note: str = "") -> TurbochargerModel:
    """Add a turbocharger model; models are shared by all depots."""
    require(user, Membership.Role.MANAGER)
    model = TurbochargerModel(name=name.strip(), stimulus=stimulus, note=note.strip())
    save_checked(model, user=user)
    return model


@transaction.atomic
def edit_model(*, user: User, model: TurbochargerModel, **changes: Any) -> TurbochargerModel:
    """Correct a model; its kind of actuator stays once turbochargers of it exist."""
    require(user, Membership.Role.MANAGER)
    if changes.get("stimulus", model.stimulus) != model.stimulus and model.turbochargers.exists():
        raise FleetError(
            "actuator_in_use", "stimulus", "Turbochargers of this model exist; its actuator stays. Add another model."
        )
    if assign(model, changes):
        save_checked(model, user=user)
    return model


@transaction.atomic
def add_turbocharger(
    *, user: User, depot: Depot, serial: str, model: TurbochargerModel, received_on: date,
    origin: str = Turbocharger.Origin.NEW,
) -> Turbocharger:  # fmt: skip
    """Add a turbocharger to a depot's stock."""
    require(user, Membership.Role.MANAGER, depot)
    faults = Faults()
    with faults.gathering():
        day_that_was(received_on, "received_on")
    row = Turbocharger(depot=depot, serial=serial.strip(), model=model, received_on=received_on, origin=origin)
    save_checked(row, user=user, faults=faults)
    return row


@transaction.atomic
def edit_turbocharger(*, user: User, turbocharger: Turbocharger, reason: str = "", **changes: Any) -> Turbocharger:
    """Correct a turbocharger, scrap it by a date, or move it to another depot while it is not fitted."""
    require(user, Membership.Role.MANAGER, Depot.objects.get(pk=turbocharger.depot_id))
    for name in ("received_on", "scrapped_on"):
        day_that_was(changes.get(name), name)
    fitted = turbocharger.fitments.filter(removed_on=None).select_related("engine").first()
    if fitted and changes.get("scrapped_on"):
        raise FleetError("still_fitted", "scrapped_on", f"Engine {fitted.engine.serial} carries it. Remove it first.")
    depot = changes.get("depot", turbocharger.depot)
    if depot.pk != turbocharger.depot_id:
        require(user, Membership.Role.MANAGER, depot)
        if fitted:
            raise FleetError(
                "follows_truck", "depot", "A fitted turbocharger belongs to the depot of its truck. Move the truck."
            )
    _fits_history(turbocharger, changes)
    if assign(turbocharger, changes):
        save_checked(turbocharger, user=user, reason=reason)
    return turbocharger


@transaction.atomic
def add_note(*, user: User, turbocharger: Turbocharger, text: str) -> Note:
    """Keep a remark on a turbocharger."""
    require(user, Membership.Role.TECHNICIAN, turbocharger.depot)
    just_now = timezone.now() - timedelta(minutes=1)
    twice = Note.objects.filter(turbocharger=turbocharger, author=user, text=text.strip(), made_at__gt=just_now).first()
    if twice:  # the form was sent twice
        return twice
    note = Note(turbocharger=turbocharger, author=user, text=text.strip())
    save_checked(note)
    return note


def _fits_history(turbocharger: Turbocharger, changes: dict[str, Any]) -> None:
    first = turbocharger.fitments.order_by("fitted_on").first()
    received = changes.get("received_on", turbocharger.received_on)
    if first and received and received > first.fitted_on:
        day = f"{first.fitted_on:%-d %b %Y}"
        raise FleetError("received_after_fitted", "received_on", f"It was first fitted on {day}; it came before that.")
    scrapped = changes.get("scrapped_on")
    last = turbocharger.fitments.exclude(removed_on=None).order_by("-removed_on").first()
    if scrapped and last and last.removed_on and scrapped < last.removed_on:
        day = f"{last.removed_on:%-d %b %Y}"
        raise FleetError("scrapped_before_removed", "scrapped_on", f"It came off an engine on {day}, later than this.")
