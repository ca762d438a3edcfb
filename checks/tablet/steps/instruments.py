"""Which instruments, how the dial is set up, and whether they can prove the window."""

from collections.abc import Mapping
from typing import Any

from checks.models import Check
from checks.models.instrument_parts import PARTS
from checks.services.faults import Faults
from checks.tablet.desk import Desk
from checks.tablet.entry import Field, Sheet
from checks.tablet.fitness import Bench
from checks.tablet.instrument_set import described, read_alignment, require_kinds_here, require_same_scale, rows_of
from checks.tablet.sequence import Step
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
        "fitness": bench.fitness(rows_of(bench, chosen), read_alignment(geometry, angles, Faults())),
        "wrong_knowing": sheet.wrong_with("knowing"),
        "knowing": sheet.text("knowing", "yes" if desk.answers.get("instruments") else ""),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the set and the set-up; what cannot prove the window is not used unknowingly."""
    faults, bench = Faults(), Bench(desk)
    rows = rows_of(bench, {role: post.get(role, "") for role in PARTS})
    for role in ("dial", "stimulus"):
        if rows[role] is None:
            faults.add("missing", role, f"No {_label(desk, role).lower()} is chosen. Choose one from the list.")
    require_kinds_here(desk, rows, faults)
    if post.get("geometry") not in Check.Geometry.values:
        faults.add("not_a_choice", "geometry", "Say how the dial's plunger meets the moving part.")
    angles = {name: post.get(name, "").strip() for name in ("angle_deg", "angle_max_deg")}
    alignment = read_alignment(post.get("geometry", ""), angles, faults)
    require_same_scale(desk, rows, faults)
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
        "choices": [(str(row.pk), described(desk, row)) for row in bench.choices(role)],
        "chosen": chosen,
        "optional": role in {"meter", "regulator"},
        "wrong": sheet.wrong_with(role),
        "hint": {"meter": "Only for a transducer.", "regulator": "Noted on the record; it is not read."}.get(role, ""),
    }


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
