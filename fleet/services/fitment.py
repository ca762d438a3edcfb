"""What is fitted where: fitting, removing, and swapping in one step."""

from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from fleet.models import Engine, Fitment, Membership, MeterReading, Truck, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.engine import SEATS
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was, noon_at
from fleet.services.meter import NO_METER, Meter, check_meter
from fleet.services.saving import assign, save_checked


@transaction.atomic
def fit_turbocharger(
    *, user: User, turbocharger: Turbocharger, engine: Engine, position: str, fitted_on: date, meter: Meter = NO_METER
) -> Fitment:
    """Record that a turbocharger was fitted to an engine; it now belongs to the engine's depot."""
    for depot in (turbocharger.depot, engine.depot):
        require(user, Membership.Role.TECHNICIAN, depot)
    day_that_was(fitted_on, "fitted_on")
    _refuse_wrong_position(engine, position)
    _refuse_wrong_time(turbocharger, fitted_on)
    fitment = Fitment(
        turbocharger=turbocharger, engine=engine, position=position, fitted_on=fitted_on,
        fitted_odometer_km=meter.odometer_km, fitted_engine_hours=meter.engine_hours, recorded_by=user,
    )  # fmt: skip
    if not _open(turbocharger=turbocharger).exists() and not _open(engine=engine, position=position).exists():
        _refuse_overlap(fitment)
    save_checked(fitment, user=user)
    if assign(turbocharger, {"depot": engine.depot}):
        save_checked(turbocharger, user=user, reason=f"Fitted to engine {engine.serial}")
    _keep_meter(user, engine, fitted_on, meter)
    return fitment


@transaction.atomic
def remove_turbocharger(
    *, user: User, turbocharger: Turbocharger, removed_on: date, meter: Meter = NO_METER, reason: str = ""
) -> Fitment:
    """Record that a turbocharger came off its engine; it stays at the depot."""
    require(user, Membership.Role.TECHNICIAN, turbocharger.depot)
    day_that_was(removed_on, "removed_on")
    fitment = _open(turbocharger=turbocharger).select_related("engine__depot").first()
    if fitment is None:
        raise FleetError("not_fitted", "turbocharger", f"Turbocharger {turbocharger} is not fitted to any engine.")
    fitment.removed_on, fitment.removal_reason = removed_on, reason.strip()
    fitment.removed_odometer_km, fitment.removed_engine_hours = meter.odometer_km, meter.engine_hours
    _refuse_hours_backwards(fitment)
    save_checked(fitment, user=user, reason=reason.strip()[:100])
    _keep_meter(user, fitment.engine, removed_on, meter)
    return fitment


@transaction.atomic
def swap_turbocharger(
    *, user: User, off: Turbocharger, on: Turbocharger, swapped_on: date, meter: Meter = NO_METER, reason: str = ""
) -> Fitment:
    """Take one turbocharger off and fit another in its place, at one date and meter; both happen or neither.

    When `on` is the twin on the same engine the two change places; the fitment of `on` is returned.
    """
    if off.pk == on.pk:
        raise FleetError("same_turbocharger", "on", "A turbocharger cannot be swapped for itself. Name the other one.")
    old = _open(turbocharger=off).select_related("engine__depot").first()
    if old is None:
        raise FleetError("not_fitted", "off", f"Turbocharger {off} is not fitted, so there is nothing to swap.")
    twin = _open(turbocharger=on).select_related("engine").first()
    if twin and twin.engine_id != old.engine_id:
        raise FleetError(
            "turbocharger_fitted_once",
            "on",
            f"Turbocharger {on} is fitted to engine {twin.engine.serial}. Remove it first.",
        )
    try:
        return _swap(user, old, on, twin, swapped_on, meter, reason or "Swapped")
    except FleetError as error:
        raise _in_words_of_swap(error) from error


def _swap(
    user: User, old: Fitment, on: Turbocharger, twin: Fitment | None, day: date, meter: Meter, reason: str
) -> Fitment:
    off, engine = old.turbocharger, old.engine
    remove_turbocharger(user=user, turbocharger=off, removed_on=day, meter=meter, reason=reason)
    if twin:
        remove_turbocharger(user=user, turbocharger=on, removed_on=day, meter=meter, reason=reason)
        fit_turbocharger(user=user, turbocharger=off, engine=engine, position=twin.position, fitted_on=day, meter=meter)
    return fit_turbocharger(
        user=user, turbocharger=on, engine=engine, position=old.position, fitted_on=day, meter=meter
    )


def _in_words_of_swap(error: FleetError) -> FleetError:
    names = {"fitted_on": "swapped_on", "removed_on": "swapped_on", "turbocharger": "on", "position": "on"}
    return FleetError(error.code, names.get(error.field, error.field), error.sentence, error.status)


def truck_carrying(engine: Engine, day: date) -> Truck | None:
    """The truck that `engine` sat in on `day`."""
    sat = engine.installations.filter(installed_on__lte=day).exclude(removed_on__lt=day).select_related("truck__depot")
    installation = sat.order_by("-installed_on").first()
    return installation.truck if installation else None


def _open(**where: object) -> QuerySet[Fitment]:
    return Fitment.objects.filter(removed_on=None, **where)


def _refuse_wrong_position(engine: Engine, position: str) -> None:
    allowed = SEATS[Engine.Layout(engine.layout)]
    if position not in allowed:
        raise FleetError(
            "position_not_on_engine", "position",
            f"Engine {engine.serial} has {engine.get_layout_display()}: its position is {' or '.join(allowed)}.",
        )  # fmt: skip


def _refuse_wrong_time(turbocharger: Turbocharger, fitted_on: date) -> None:
    if turbocharger.scrapped_on:
        day = f"{turbocharger.scrapped_on:%-d %b %Y}"
        raise FleetError("scrapped", "turbocharger", f"Turbocharger {turbocharger} was scrapped on {day}.")
    if fitted_on < turbocharger.received_on:
        day = f"{turbocharger.received_on:%-d %b %Y}"
        raise FleetError("fitted_before_received", "fitted_on", f"It was received on {day}, so not fitted earlier.")


def _refuse_overlap(fitment: Fitment) -> None:
    later = Fitment.objects.filter(removed_on__gt=fitment.fitted_on).select_related("engine", "turbocharger")
    same_unit = later.filter(turbocharger=fitment.turbocharger).first()
    if same_unit:
        where, until = f"engine {same_unit.engine.serial}", same_unit.removed_on
    else:
        same_place = later.filter(engine=fitment.engine, position=fitment.position).first()
        if same_place is None:
            return
        where, until = f"the place of turbocharger {same_place.turbocharger}", same_place.removed_on
    raise FleetError("fitment_overlaps", "fitted_on", f"Until {until:%-d %b %Y} this was {where}. Give a later day.")


def _refuse_hours_backwards(fitment: Fitment) -> None:
    fitted, removed = fitment.fitted_engine_hours, fitment.removed_engine_hours
    if fitted is not None and removed is not None and removed < fitted:
        raise FleetError(
            "removal_meter_not_below_fitting", "engine_hours",
            f"The engine had {fitted:,.0f} h at fitting; it cannot have {removed:,.0f} h at removal.",
        )  # fmt: skip


def _keep_meter(user: User, engine: Engine, day: date, meter: Meter) -> None:
    """Hold the meter against the truck's other readings and keep it as one of them."""
    truck = truck_carrying(engine, day)
    if truck is None or not meter:
        return
    at = noon_at(truck.depot, day)
    check_meter(truck=truck, at=at, meter=meter)
    if not MeterReading.objects.filter(truck=truck, read_at=at).exists():
        reading = MeterReading(
            truck=truck, read_at=at, odometer_km=meter.odometer_km, odometer_typed=meter.odometer_typed,
            engine_hours=meter.engine_hours, source="fitment", recorded_by=user,
        )  # fmt: skip
        save_checked(reading, user=user)
