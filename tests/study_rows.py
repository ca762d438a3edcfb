"""Measurement studies whose every reading is entered, as rows."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from django.utils import timezone
from numpy.typing import ArrayLike

from checks.models import Study, StudyPart, StudyReading
from fleet.models import Membership, User
from tests.bay import Bay, person

PLANNED = date(2025, 2, 3)


def read_study(
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
    around: float = 1.5,
    parts: ArrayLike | None = None,
) -> np.ndarray:
    """Readings of a depot with known standard deviations, mm; `parts` where they are the same at several depots."""
    rng = np.random.default_rng(seed)
    true = rng.normal(around, part, shape[0]) if parts is None else np.asarray(parts)
    people = rng.normal(0.0, technician, shape[1])
    return np.round(true[:, None, None] + people[None, :, None] + rng.normal(0.0, repeat, shape), 3)
