"""The fitment that one line asks for."""

from datetime import date
from typing import Any

from fleet.imports.columns import Cells
from fleet.imports.known import Known
from fleet.imports.steps import Wish, overlaps
from fleet.models import Depot, Engine, Fitment, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.engine import SEATS
from fleet.services.dates import day_that_was
from fleet.services.meter import Meter

POSITIONS = {name: name for name in ("single", "front", "rear")}


def plan_fitment(
    cells: Cells, known: Known, wish: Wish, unit: Turbocharger, engine: Engine, user: User, layout: str, home: Depot
) -> None:
    """Record a fitment, or complete the stored one of the same turbocharger and day.

    `layout` and `home` are those that the engine has after this line.
    """
    fitted_on = cells.needed_day("fitted_on", "a fitment")
    removed_on = cells.day("removed_on")
    day_that_was(fitted_on, "fitted_on")
    day_that_was(removed_on, "removed_on")
    position = cells.word("position", POSITIONS, "single" if layout == "single" else "")
    if position not in SEATS[Engine.Layout(layout)]:
        allowed = " or ".join(SEATS[Engine.Layout(layout)])
        raise FleetError("position_not_on_engine", "position", f"On engine {engine.serial} the position is {allowed}.")
    wanted = _values(cells, removed_on)
    stored = next((fit for fit in known.fitted[unit.serial] if fit.fitted_on == fitted_on), None)
    if stored is not None:
        _complete(stored, wanted, engine, position, wish)
        return
    fit = Fitment(turbocharger=unit, engine=engine, position=position, fitted_on=fitted_on, recorded_by=user, **wanted)
    _refuse_impossible(fit, known)
    wish.new(fit, f"turbocharger {unit.serial} on engine {engine.serial} from {fitted_on}")
    if removed_on is None:
        wish.change(unit, {"depot": home})


def _values(cells: Cells, removed_on: date | None) -> dict[str, Any]:
    fitted, removed = cells.meter(), cells.meter("removed_")
    if removed_on is None and (removed or cells.text("removal_reason")):
        raise FleetError("removed_without_day", "removed_on", "There is a removal without its day. Give removed_on.")
    _refuse_backwards(fitted, removed)
    return {
        "fitted_odometer_km": fitted.odometer_km,
        "fitted_engine_hours": fitted.engine_hours,
        "removed_on": removed_on,
        "removed_odometer_km": removed.odometer_km,
        "removed_engine_hours": removed.engine_hours,
        "removal_reason": cells.text("removal_reason"),
    }


def _complete(stored: Fitment, wanted: dict[str, Any], engine: Engine, position: str, wish: Wish) -> None:
    """Fill in what is blank on record; what is recorded is corrected in the register, with a reason, not by a file."""
    if (stored.engine.serial, stored.position) != (engine.serial, position):
        place = f"engine {stored.engine.serial}, {stored.position}"
        raise FleetError("other_place", "engine_serial", f"From that day on it is on record at {place}.")
    for name, value in wanted.items():
        held = getattr(stored, name)
        if value not in (None, "") and held not in (None, "") and held != value:
            label = name.replace("_", " ")
            raise FleetError("recorded_otherwise", name, f"The register has {held} for {label}, the file {value}.")
    merged = {name: value for name, value in wanted.items() if getattr(stored, name) in (None, "")}
    if stored.pk is None:
        if any(value not in (None, "") for value in merged.values()):
            raise FleetError(
                "line_twice", "serial", "An earlier line of this file records the same fitment differently."
            )
        return
    end = merged.get("removed_on")
    if end and end < stored.fitted_on:
        raise FleetError("removed_after_fitted", "removed_on", "It cannot come off before it was fitted.")
    km, fitted_km = merged.get("removed_odometer_km"), stored.fitted_odometer_km
    if km is not None and fitted_km is not None and km < fitted_km:
        raise FleetError(
            "removal_meter_not_below_fitting", "removed_odometer", f"The odometer at fitting was {fitted_km:,.0f} km."
        )
    wish.change(stored, merged)


def _refuse_impossible(fit: Fitment, known: Known) -> None:
    unit, engine = fit.turbocharger, fit.engine
    if unit.scrapped_on:
        raise FleetError("scrapped", "serial", f"Turbocharger {unit} was scrapped on {unit.scrapped_on:%-d %b %Y}.")
    if fit.fitted_on < unit.received_on:
        raise FleetError(
            "fitted_before_received", "fitted_on", f"It was received on {unit.received_on:%-d %b %Y}, after this day."
        )
    if fit.removed_on and fit.removed_on < fit.fitted_on:
        raise FleetError("removed_after_fitted", "removed_on", "It cannot come off before it was fitted.")
    for other in known.fitted[unit.serial]:
        if overlaps(fit.fitted_on, fit.removed_on, other.fitted_on, other.removed_on):
            until = f"until {other.removed_on:%-d %b %Y}" if other.removed_on else "and is still"
            sentence = f"It was on engine {other.engine.serial} from {other.fitted_on:%-d %b %Y} {until}."
            raise FleetError("fitment_overlaps", "fitted_on", sentence)
    for other in known.holds[engine.serial, fit.position]:
        if overlaps(fit.fitted_on, fit.removed_on, other.fitted_on, other.removed_on):
            sentence = (
                f"Turbocharger {other.turbocharger.serial} is in this place since {other.fitted_on:%-d %b %Y}. Is the "
                "truck or the engine on two lines? Else give the day on which the other came off."
            )
            raise FleetError("position_holds_one", "position", sentence)


def _refuse_backwards(fitted: Meter, removed: Meter) -> None:
    pairs = ((fitted.odometer_km, removed.odometer_km), (fitted.engine_hours, removed.engine_hours))
    if any(start is not None and end is not None and end < start for start, end in pairs):
        raise FleetError(
            "removal_meter_not_below_fitting", "removed_odometer", "The meter at removal is below that at fitting."
        )
