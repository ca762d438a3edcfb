"""Measurement studies at a bay, planned and read for tests."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
from django.utils import timezone
from numpy.typing import ArrayLike

from checks.models import Study, StudyPart, StudyReading
from checks.services.study import enter_reading
from checks.services.study_plan import plan_study
from fleet.models import Membership, User
from tests.bay import Bay, person

# The day of a study made of rows.
PLANNED = date(2025, 2, 3)
# Invented: parts over the window, technicians 0.02 mm apart, repeats of 0.01 mm.
PART_MM, TECHNICIAN_MM, REPEAT_MM = 0.2, 0.02, 0.01


def plan_entry(bay: Bay, people: list[User], *, parts: int = 5, trials: int = 2, **changes: Any) -> dict[str, Any]:
    """What a manager types to plan a study of bench units and the bay's turbocharger."""
    return {
        "name": "Spring study",
        "specification": str(bay.specification.pk),
        "planned_for": "2025-03-04",
        "turbochargers": bay.turbocharger.serial,
        "bench_units": "\n".join(f"Bench {number}" for number in range(1, parts)),
        "technicians": [str(person.pk) for person in people],
        "trials": str(trials),
        "dial": str(bay.dial.pk),
        "stimulus_instrument": str(bay.gauge.pk),
        "meter": "",
        "length_unit": "mm",
        "note": "",
        "seed": "7",
        "confirmed": True,
        **changes,
    }


def planned_study(bay: Bay, **options: Any) -> Study:
    """A study by the bay's technician and manager, nothing read yet."""
    return plan_study(
        author=bay.manager, depot=bay.depot, entry=plan_entry(bay, [bay.technician, bay.manager], **options)
    )


def read_study(bay: Bay, study: Study, *, seed: int = 1, but: int = 0, shift: float = 0.0) -> Study:
    """Enter every reading of a study, the last `but` left out."""
    rng = np.random.default_rng(seed)
    parts, technicians = rng.normal(0, PART_MM, 50), rng.normal(0, TECHNICIAN_MM, 10)
    people = sorted({row.technician_id for row in study.readings.all()})
    rows = list(study.readings.select_related("part"))
    for row in rows[: len(rows) - but]:
        travel = 1.5 + shift + parts[row.part.number] + technicians[people.index(row.technician_id)]
        text = f"{travel + rng.normal(0, REPEAT_MM):.3f}"
        entry = {"travel": [text, "mm"], "confirmed": True}
        enter_reading(author=bay.technician, study=study, place=row.place, entry=entry)
    return study


def filled_study(bay: Bay, **options: Any) -> Study:
    """A study with every reading entered at once."""
    study = planned_study(bay, **options)
    rng = np.random.default_rng(1)
    rows = list(study.readings.select_related("part"))
    for row in rows:
        row.travel_mm = round(1.2 + 0.1 * row.part.number + rng.normal(0, REPEAT_MM), 3)
        row.typed, row.unit = f"{row.travel_mm:.3f}", "mm"
        row.entered_by, row.entered_at = bay.technician, study.planned_at
    StudyReading.objects.bulk_update(rows, ["travel_mm", "typed", "unit", "entered_by", "entered_at"])
    return study


def study_of(
    bay: Bay,
    values: ArrayLike,
    *,
    name: str = "Spring round",
    parts: Sequence[str] | None = None,
    technicians: Sequence[User] | None = None,
    planned_for: date = PLANNED,
) -> Study:
    """A study of the bay's depot that found `values`, mm, of shape (parts, technicians, trials)."""
    table = np.asarray(values, dtype=float)
    names = parts or [f"Bench unit {number}" for number in range(1, table.shape[0] + 1)]
    people = technicians or [person(bay.depot, Membership.Role.TECHNICIAN) for _ in range(table.shape[1])]
    study = Study.objects.create(
        depot=bay.depot,
        name=name,
        specification=bay.specification,
        dial=bay.dial,
        stimulus_instrument=bay.gauge,
        trials=table.shape[2],
        seed=1,
        planned_for=planned_for,
        planned_by=bay.manager,
    )
    rows = StudyPart.objects.bulk_create(
        StudyPart(study=study, number=number, name=text) for number, text in enumerate(names, start=1)
    )
    StudyReading.objects.bulk_create(
        StudyReading(
            study=study,
            place=place,
            part=rows[part],
            technician=people[technician],
            trial=trial + 1,
            travel_mm=table[part, technician, trial],
            typed=f"{table[part, technician, trial]:.3f}",
            unit="mm",
            entered_by=bay.manager,
            entered_at=timezone.now(),
        )
        for place, (part, technician, trial) in enumerate(np.ndindex(table.shape), start=1)
    )
    return study


def scattered(
    *,
    seed: int = 3,
    shape: tuple[int, int, int] = (10, 3, 3),
    repeat: float = 0.03,
    technician: float = 0.02,
    part: float = 0.15,
    parts: ArrayLike | None = None,
) -> np.ndarray:
    """Readings of a depot with known standard deviations, mm; `parts` where they are the same at several depots."""
    rng = np.random.default_rng(seed)
    true = rng.normal(1.5, part, shape[0]) if parts is None else np.asarray(parts)
    people = rng.normal(0.0, technician, shape[1])
    return np.round(true[:, None, None] + people[None, :, None] + rng.normal(0.0, repeat, shape), 3)
