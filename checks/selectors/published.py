"""Which published study counts for a depot's checks, and when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from checks.convert import to_study_figures
from checks.measurement.stroke import StudyFigures
from checks.models import Publication
from fleet.models import Depot, Turbocharger, TurbochargerModel, User
from fleet.selectors.scope import depots_of


@dataclass(frozen=True, slots=True)
class Published:
    """A publication as a verdict needs it. ``ended_at`` is excluded, None while it counts."""

    pk: int
    study: int
    name: str
    depot: int
    counts_from: datetime
    ended_at: datetime | None
    figures: StudyFigures


@dataclass(frozen=True, slots=True)
class Publications:
    """Every publication for one kind of actuator."""

    rows: tuple[Published, ...] = ()

    def counting(self, depot: int, at: datetime | None = None) -> Published | None:
        """The one that counts at ``depot`` for a check made at ``at``; without a moment, now. No query."""
        at = at or timezone.now()
        found = [
            row
            for row in self.rows
            if row.depot == depot and row.counts_from <= at and (row.ended_at is None or at < row.ended_at)
        ]
        return max(found, key=lambda row: (row.counts_from, row.pk), default=None)

    def figures(self, depot: int, at: datetime | None = None) -> StudyFigures | None:
        """Figures of the one that counts; None where the policy's assumption does."""
        found = self.counting(depot, at)
        return found.figures if found else None


def publications(stimulus: str, depots: Iterable[int] | None = None) -> Publications:
    """Publications of studies with actuators of that ``stimulus``, of some depots or all of them. One query."""
    rows = Publication.objects.filter(stimulus=stimulus).select_related("study")
    if depots is not None:
        rows = rows.filter(depot__in=list(depots))
    return Publications(
        tuple(
            Published(
                pk=row.pk,
                study=row.study_id,
                name=row.study.name,
                depot=row.depot_id,
                counts_from=row.counts_from,
                ended_at=row.ended_at,
                figures=to_study_figures(row),
            )
            for row in rows.order_by("counts_from", "pk")
        )
    )


@dataclass(frozen=True, slots=True)
class Repeatability:
    """What a depot's checks of one kind of actuator go by now; ``published`` is None where it is assumed."""

    depot: Depot
    actuator: str
    published: Published | None


def repeatabilities(user: User) -> list[Repeatability]:
    """Each of a person's depots and each kind of actuator that turbochargers there have. Four queries."""
    depots = {row.pk: row for row in depots_of(user).order_by("name").distinct()}
    kinds = TurbochargerModel.Stimulus
    held = set(
        Turbocharger.objects.filter(depot__in=list(depots), scrapped_on__isnull=True)
        .order_by()
        .values_list("depot", "model__stimulus")
        .distinct()
    )
    found = {kind: publications(kind, depots) for kind in kinds.values}
    return [
        Repeatability(row, kinds(kind).label, found[kind].counting(row.pk))
        for row in depots.values()
        for kind in kinds.values
        if (row.pk, kind) in held
    ]
