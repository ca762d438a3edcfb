"""Depots held against each other: studies in which they read the same parts."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from checks.measurement.depots import Comparison, compare
from checks.measurement.errors import MeasurementError
from checks.models import Study, StudyPart, StudyReading
from checks.selectors.study import studies_visible
from fleet.models import User

# One part that all have read would do for the arithmetic; two show that it was not the part.
PARTS_FEWEST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """The newest whole study of each depot on one kind of part, compared on the parts that all of them read.

    ``comparison`` is None where nothing can be compared, and ``refusal`` says why. ``left_out``: studies of other
    depots on the same kind of part that read other parts. Depots in the comparison are named as they name themselves.
    """

    model: str
    window_mm: float
    studies: tuple[Study, ...]
    parts: tuple[str, ...]
    comparison: Comparison | None
    refusal: str
    left_out: tuple[Study, ...]


def rounds(user: User) -> list[Round]:
    """Every kind of part that at least two depots visible to `user` have studied; four queries."""
    return rounds_among(_whole(user))


def rounds_among(studies: Sequence[Study]) -> list[Round]:
    """The same of studies read to their end, the newest first, as ``with_facts`` gives them; two queries."""
    held: dict[tuple[int, float], list[Study]] = defaultdict(list)
    for study in studies:
        held[_kind(study)].append(study)
    newest = {kind: _newest_of_each(rows) for kind, rows in held.items()}
    newest = {kind: rows for kind, rows in newest.items() if len(rows) > 1}
    tables = tables_of([study for rows in newest.values() for study in rows])
    found = [_round(rows, tables) for rows in newest.values()]
    return sorted(found, key=lambda one: one.model.casefold())


def round_of(user: User, study: Study) -> Round | None:
    """The comparison that `study` is part of, with the newest studies of the other depots; four queries.

    None where no other depot has studied that kind of part, or where `study` is not read to its end.
    """
    alike = [row for row in _whole(user) if _kind(row) == _kind(study)]
    if study.pk not in {row.pk for row in alike}:
        return None
    others = _newest_of_each([row for row in alike if row.depot_id != study.depot_id])
    if not others:
        return None
    rows = [row for row in alike if row.pk == study.pk] + others
    return _round(rows, tables_of(rows))


def _kind(study: Study) -> tuple[int, float]:
    return study.specification.turbocharger_model_id, study.specification.setting


def _whole(user: User) -> list[Study]:
    """Studies read to their end and not set aside, the newest first; two queries."""
    rows = studies_visible(user).filter(set_aside_at__isnull=True).order_by("-planned_for", "-pk")
    return [row for row in rows if row.readings_held and row.readings_held == row.readings_entered]  # type: ignore[attr-defined]


def _newest_of_each(rows: Sequence[Study]) -> list[Study]:
    newest: dict[int, Study] = {}
    for row in rows:
        newest.setdefault(row.depot_id, row)
    return list(newest.values())


Tables = dict[int, dict[str, list[StudyReading]]]


def tables_of(studies: Sequence[Study]) -> Tables:
    """Readings by study and part; a part is known by its serial number or the name it keeps. Two queries."""
    parts = {row.pk: row for row in StudyPart.objects.filter(study__in=studies)}
    tables: Tables = {study.pk: {} for study in studies}
    for reading in StudyReading.objects.filter(study__in=studies).order_by("study", "technician", "trial"):
        part = _part_key(parts[reading.part_id])
        tables[reading.study_id].setdefault(part, []).append(reading)
    return tables


def _part_key(part: StudyPart) -> str:
    return f"#{part.turbocharger_id}" if part.turbocharger_id else part.name.strip().casefold()


def _round(studies: Sequence[Study], tables: Tables) -> Round:
    """Compare the first study with those after it that share its parts, as many as leave enough in common."""
    taken, left_out = [studies[0]], []
    common = set(tables[studies[0].pk])
    for study in studies[1:]:
        shared = common & set(tables[study.pk])
        if len(shared) < PARTS_FEWEST:
            left_out.append(study)
        else:
            taken.append(study)
            common = shared
    taken.sort(key=lambda row: str(row.depot).casefold())
    specification = studies[0].specification
    comparison, refusal = None, "The depots read other units. Send the same ones round to compare depots."
    if len(taken) > 1:
        try:
            comparison, refusal = compare({str(row.depot): values_of(tables[row.pk], common) for row in taken}), ""
        except MeasurementError as error:
            refusal = error.sentence
    return Round(
        model=str(specification.turbocharger_model),
        window_mm=specification.upper_mm - specification.lower_mm,
        studies=tuple(taken),
        parts=tuple(sorted(common)),
        comparison=comparison,
        refusal=refusal,
        left_out=tuple(left_out),
    )


def values_of(table: dict[str, list[StudyReading]], parts: Iterable[str]) -> np.ndarray:
    """Readings of some parts of a study, shape (parts, technicians, trials), mm."""
    rows = []
    for part in sorted(parts):
        by_technician: dict[int, list[float]] = defaultdict(list)
        for reading in table[part]:
            by_technician[reading.technician_id].append(reading.travel_mm or 0.0)
        rows.append([by_technician[pk] for pk in sorted(by_technician)])
    return np.array(rows, dtype=np.float64)
