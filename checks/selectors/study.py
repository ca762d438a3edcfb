"""Measurement studies as pages, programs, the budget and the review read them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from django.db.models import Count, Max, Prefetch, Q, QuerySet
from numpy.typing import NDArray

from checks.measurement.errors import MeasurementError
from checks.measurement.study import Study as Analysis
from checks.measurement.study import analyse
from checks.models import Publication, Study, StudyPart, StudyReading
from fleet.models import Depot, Membership, User
from fleet.selectors import scope

# How far a study is, told from its facts.
STATES = {
    "planned": "planned",
    "being_read": "being read",
    "read": "read",
    "published": "published",
    "withdrawn": "withdrawn",
    "replaced": "replaced",
    "set_aside": "set aside",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRow:
    """A study in numbers. ``publication``: the one that counts, else the last that did."""

    study: Study
    state: str
    parts: int
    technicians: int
    readings: int
    entered: int
    last_entered_at: datetime | None
    publication: Publication | None

    @property
    def word(self) -> str:
        return STATES[self.state]

    @property
    def complete(self) -> bool:
        return self.entered == self.readings

    @property
    def counts(self) -> bool:
        return self.state == "published"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The readings of a study by part, technician and trial, in mm; NaN where one is missing."""

    parts: tuple[StudyPart, ...]
    technicians: tuple[User, ...]
    trials: int
    values: NDArray[np.float64]
    readings: tuple[StudyReading, ...]

    @property
    def missing(self) -> tuple[StudyReading, ...]:
        return tuple(reading for reading in self.readings if reading.travel_mm is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A study's readings with their analysis, or the code and sentence that say why there is none."""

    table: Table
    window_mm: float
    analysis: Analysis | None
    code: str = ""
    refusal: str = ""


def studies_visible(user: User, *, role: str = Membership.Role.VIEWER) -> QuerySet[Study]:
    """Studies of the depots where `user` holds at least `role`."""
    return scope.visible_to(user, with_facts(Study.objects.all()), role=role)


def with_facts(rows: QuerySet[Study]) -> QuerySet[Study]:
    """Studies with what tells how far they are; two queries when read."""
    ended = Publication.objects.select_related("published_by", "ended_by", "replaced_by__study")
    return (
        rows.select_related(
            "depot", "specification__turbocharger_model", "dial", "stimulus_instrument", "meter", "planned_by"
        )
        .prefetch_related(Prefetch("publications", queryset=ended.order_by("-counts_from", "-pk")))
        .annotate(
            parts_held=Count("readings__part", distinct=True),
            technicians_held=Count("readings__technician", distinct=True),
            readings_held=Count("readings"),
            readings_entered=Count("readings", filter=Q(readings__travel_mm__isnull=False)),
            last_entered_at=Max("readings__entered_at"),
        )
    )


def row_of(study: Study) -> StudyRow:
    """A study of `with_facts` in numbers; no query."""
    published = list(study.publications.all())
    counting = next((row for row in published if row.ended_at is None), None)
    publication = counting or (published[0] if published else None)
    return StudyRow(
        study=study,
        state=_state(study, publication),
        parts=study.parts_held,  # type: ignore[attr-defined]
        technicians=study.technicians_held,  # type: ignore[attr-defined]
        readings=study.readings_held,  # type: ignore[attr-defined]
        entered=study.readings_entered,  # type: ignore[attr-defined]
        last_entered_at=study.last_entered_at,  # type: ignore[attr-defined]
        publication=publication,
    )


def _state(study: Study, publication: Publication | None) -> str:
    if publication is not None and publication.ended_at is None:
        return "published"
    if study.set_aside_at is not None:
        return "set_aside"
    if publication is not None:
        return "replaced" if publication.replaced_by_id else "withdrawn"
    entered, held = study.readings_entered, study.readings_held  # type: ignore[attr-defined]
    return "planned" if not entered else "read" if entered == held else "being_read"


def study_rows(user: User) -> list[StudyRow]:
    """Studies that `user` may see: those that count first, then the newest; two queries."""
    rows = [row_of(study) for study in studies_visible(user).order_by("-planned_for", "-pk")]
    return sorted(rows, key=lambda row: (not row.counts, row.state == "set_aside"))


def studies(depots: Iterable[Depot], *, until: date) -> list[StudyRow]:
    """Studies of depots planned for a day up to `until`, the newest first; set aside ones are left out. Two queries."""
    rows = Study.objects.filter(depot__in=list(depots), planned_for__lte=until, set_aside_at__isnull=True)
    return [row_of(study) for study in with_facts(rows).order_by("depot__name", "-planned_for", "-pk")]


def table_of(study: Study) -> Table:
    """The readings of a study laid out; two queries."""
    parts = tuple(study.parts.select_related("turbocharger"))
    readings = tuple(study.readings.select_related("technician", "part", "part__turbocharger").order_by("place"))
    people = {reading.technician_id: reading.technician for reading in readings}
    technicians = tuple(sorted(people.values(), key=lambda user: (user.display_name.casefold(), user.pk)))
    at_part = {part.pk: place for place, part in enumerate(parts)}
    at_technician = {user.pk: place for place, user in enumerate(technicians)}
    values = np.full((len(parts), len(technicians), study.trials), np.nan)
    for reading in readings:
        if reading.travel_mm is not None:
            place = at_part[reading.part_id], at_technician[reading.technician_id], reading.trial - 1
            values[place] = reading.travel_mm
    return Table(parts=parts, technicians=technicians, trials=study.trials, values=values, readings=readings)


def told_of(study: Study) -> Told:
    """The analysis of a study against the window of its specification; two queries."""
    table = table_of(study)
    window = study.specification.upper_mm - study.specification.lower_mm
    if table.missing:
        return Told(
            table=table, window_mm=window, analysis=None, code="study_incomplete", refusal=missing_sentence(table)
        )
    try:
        return Told(table=table, window_mm=window, analysis=analyse(table.values, window=window))
    except MeasurementError as error:
        return Told(table=table, window_mm=window, analysis=None, code=error.code, refusal=error.sentence)


NAMED_MOST = 4


def missing_sentence(table: Table) -> str:
    """Which readings are missing, the first few by name."""
    missing, held = table.missing, len(table.readings)
    named = [f"{one.part.name} by {one.technician.display_name}, trial {one.trial}" for one in missing[:NAMED_MOST]]
    more = f" and {len(missing) - NAMED_MOST} more" if len(missing) > NAMED_MOST else ""
    verb = "is" if len(missing) == 1 else "are"
    return (
        f"{len(missing)} of {held} readings {verb} missing: {'; '.join(named)}{more}. "
        "The analysis weighs every part, technician and trial alike, so it needs them all."
    )


def technicians_of(depot: Depot) -> list[User]:
    """People who may check at a depot, by name; one query."""
    ranks = [Membership.Role.TECHNICIAN, Membership.Role.MANAGER]
    rows = User.objects.filter(is_active=True, memberships__depot=depot, memberships__role__in=ranks).distinct()
    return sorted(rows, key=lambda user: (user.display_name.casefold(), user.pk))
