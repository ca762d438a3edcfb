"""The set of instruments as it is chosen on a screen: read, and refused where it cannot serve."""

from collections.abc import Mapping

from checks.convert import to_alignment
from checks.measurement.calibration import Alignment
from checks.measurement.units import accepted_units
from checks.models import Instrument
from checks.models.instrument_parts import PRESSURE
from checks.services.faults import Faults
from checks.services.parts import require_kinds
from checks.services.quantity import ANGLE, read_plain
from checks.services.readings import scale_of
from checks.tablet.desk import Desk
from checks.tablet.fitness import Bench, Chosen
from checks.tablet.sequence import MOMENTS
from checks.tablet.strokes import readings_of


def rows_of(bench: Bench, chosen: Mapping[str, str]) -> dict[str, Instrument | None]:
    """The instrument chosen for each part, None where none is."""
    return {role: bench.rows.get(int(pk)) if pk.isdecimal() and len(pk) < 19 else None for role, pk in chosen.items()}


def require_kinds_here(desk: Desk, rows: Chosen, faults: Faults) -> None:
    """Note every instrument that cannot do its part, at the box of this screen."""
    said = Faults()
    require_kinds(dict(rows), desk.specification.turbocharger_model.stimulus, said)
    for error in said.errors:
        faults.add(error.code, error.field.removeprefix("instruments."), error.sentence)


def read_alignment(geometry: str, angles: Mapping[str, str], faults: Faults) -> Alignment:
    """The dial\'s set-up as typed; ``faults`` names an angle that is none."""
    angle = read_plain(angles["angle_deg"], "angle_deg", ANGLE, faults) if angles["angle_deg"] else None
    most = read_plain(angles["angle_max_deg"], "angle_max_deg", ANGLE, faults) if angles["angle_max_deg"] else 0.0
    return _alignment_from(geometry, angle, most or 0.0)


def require_same_scale(desk: Desk, rows: Chosen, faults: Faults) -> None:
    """Readings already entered must still mean what they meant."""
    stimulus = rows["stimulus"]
    entered = [reading for moment in MOMENTS for reading in readings_of(desk.answers, moment)]
    if stimulus is None or not entered:
        return
    units = accepted_units(scale_of(desk.specification, stimulus, rows["meter"]).unit)
    strange = next((r["stimulus"]["unit"] for r in entered if r["stimulus"]["unit"] not in units), None)
    if strange:
        faults.add(
            "scale_differs",
            "stimulus",
            f"Readings were entered in {strange}, and {stimulus} is read in {' or '.join(units)}. Go on with an "
            f"instrument that is read in {strange}, or discard this check and begin again.",
        )


def _alignment_from(geometry: str, angle_deg: float | None, angle_max_deg: float) -> Alignment:
    """The dial's set-up, or the usual one where it makes no sense yet."""
    try:
        return to_alignment(geometry=geometry, angle_deg=angle_deg, angle_max_deg=angle_max_deg)
    except ValueError:
        return Alignment()


def described(desk: Desk, row: Instrument) -> str:
    """The label, and only what tells it from the others of the list."""
    several_kinds = row.kind in PRESSURE
    elsewhere = row.depot_id != desk.turbocharger.depot_id
    parts = [row.label, row.get_kind_display() if several_kinds else "", row.depot.name if elsewhere else ""]
    return " · ".join(part for part in parts if part)
