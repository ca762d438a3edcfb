"""Which instruments, how the dial is set up, and whether they can prove the window."""

from collections.abc import Mapping
from typing import Any

from checks.measurement.calibration import Alignment
from checks.measurement.units import accepted_units
from checks.models import Check, Instrument
from checks.models.instrument_parts import PARTS, PRESSURE
from checks.services.faults import Faults
from checks.services.parts import require_kinds
from checks.services.quantity import ANGLE, read_plain
from checks.services.readings import scale_of
from checks.tablet.desk import Desk
from checks.tablet.entry import Field, Sheet
from checks.tablet.fitness import Bench, Chosen, alignment_from
from checks.tablet.sequence import MOMENTS, Step, readings_of
from checks.tablet.taken import Taken
from checks.tablet.words import LEADS

ANGLES = {
    "angle_deg": ("Angle to the rod, if measured", "Leave empty where it was not measured."),
    "angle_max_deg": ("Otherwise it is at most", ""),
}
LABELS = {"dial": "Dial indicator", "meter": "Multimeter", "regulator": "Regulator"}


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """One list per role with the best set preselected, the dial's set-up, and the set's fitness."""
    bench = Bench(desk)
    kept = desk.answers.get("instruments") or {
        role: row.pk if row else None for role, row in ({} if sheet.post is not None else bench.best()).items()
    }
    chosen = {role: sheet.text(role, kept.get(role)) for role in PARTS}
    alignment = desk.answers.get("alignment") or {}
    geometry = sheet.text("geometry", alignment.get("geometry")) or Check.Geometry.FLAT_FACE.value
    angles = {
        "angle_deg": sheet.text("angle_deg", alignment.get("angle_deg")),
        "angle_max_deg": sheet.text("angle_max_deg", alignment.get("angle_max_deg", "5")),
    }
    return {
        "lead": LEADS["instruments"],
        "preselected": sheet.post is None and "instruments" not in desk.answers and bool(kept.get("stimulus")),
        "roles": [_role(desk, bench, role, chosen[role], sheet) for role in _roles(desk)],
        "geometries": Check.Geometry.choices,
        "geometry": geometry,
        "angles": _angle_fields(sheet, angles),
        "fitness": bench.fitness(_rows(bench, chosen), _alignment(geometry, angles, Faults())),
        "wrong_knowing": sheet.wrong_with("knowing"),
        "knowing": sheet.text("knowing", "yes" if desk.answers.get("instruments") else ""),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the set and the set-up; what cannot prove the window is not used unknowingly."""
    faults, bench = Faults(), Bench(desk)
    rows = _rows(bench, {role: post.get(role, "") for role in PARTS})
    for role in ("dial", "stimulus"):
        if rows[role] is None:
            faults.add("missing", role, f"No {_label(desk, role).lower()} is chosen. Choose one from the list.")
    _require_kinds(desk, rows, faults)
    if post.get("geometry") not in Check.Geometry.values:
        faults.add("not_a_choice", "geometry", "Say how the dial's plunger meets the moving part.")
    angles = {name: post.get(name, "").strip() for name in ("angle_deg", "angle_max_deg")}
    alignment = _alignment(post.get("geometry", ""), angles, faults)
    _require_same_scale(desk, rows, faults)
    faults.settle()
    fitness = bench.fitness(rows, alignment)
    if fitness and fitness.blocking and post.get("knowing") != "yes":
        faults.add("not_fit", "knowing", "This set is not fit, as told below. Choose another set, or tick the box.")
        faults.settle()
    return Taken(
        {
            "instruments": {role: row.pk if row else None for role, row in rows.items()},
            "alignment": {
                "geometry": post["geometry"],
                "angle_deg": angles["angle_deg"] or None,
                "angle_max_deg": angles["angle_max_deg"] or "0",
            },
        }
    )


def _roles(desk: Desk) -> tuple[str, ...]:
    return ("dial", "stimulus") if desk.electric else PARTS


def _label(desk: Desk, role: str) -> str:
    if role == "stimulus":
        return "Command tool" if desk.electric else "Pressure instrument"
    return LABELS[role]


def _role(desk: Desk, bench: Bench, role: str, chosen: str, sheet: Sheet) -> dict[str, Any]:
    return {
        "name": role,
        "label": _label(desk, role),
        "choices": [(str(row.pk), _described(desk, row)) for row in bench.choices(role)],
        "chosen": chosen,
        "optional": role in {"meter", "regulator"},
        "wrong": sheet.wrong_with(role),
        "hint": {"meter": "Only for a transducer.", "regulator": "Noted on the record; it is not read."}.get(role, ""),
    }


def _described(desk: Desk, row: Instrument) -> str:
    """The label, and only what tells it from the others of the list."""
    several_kinds = row.kind in PRESSURE
    elsewhere = row.depot_id != desk.turbocharger.depot_id
    parts = [row.label, row.get_kind_display() if several_kinds else "", row.depot.name if elsewhere else ""]
    return " · ".join(part for part in parts if part)


def _rows(bench: Bench, chosen: Mapping[str, str]) -> dict[str, Instrument | None]:
    return {role: bench.rows.get(int(pk)) if pk.isdecimal() and len(pk) < 19 else None for role, pk in chosen.items()}


def _require_kinds(desk: Desk, rows: Chosen, faults: Faults) -> None:
    said = Faults()
    require_kinds(dict(rows), desk.specification.turbocharger_model.stimulus, said)
    for error in said.errors:
        faults.add(error.code, error.field.removeprefix("instruments."), error.sentence)


def _angle_fields(sheet: Sheet, angles: Mapping[str, str]) -> list[Field]:
    return [
        Field(
            name=name,
            label=label,
            text=angles[name],
            units=("degrees",),
            unit="degrees",
            wrong=sheet.wrong_with(name),
            hint=hint,
        )
        for name, (label, hint) in ANGLES.items()
    ]


def _alignment(geometry: str, angles: Mapping[str, str], faults: Faults) -> Alignment:
    angle = read_plain(angles["angle_deg"], "angle_deg", ANGLE, faults) if angles["angle_deg"] else None
    most = read_plain(angles["angle_max_deg"], "angle_max_deg", ANGLE, faults) if angles["angle_max_deg"] else 0.0
    return alignment_from(geometry, angle, most or 0.0)


def _require_same_scale(desk: Desk, rows: Chosen, faults: Faults) -> None:
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
