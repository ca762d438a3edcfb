"""Which specification holds, and the register of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from checks.models import Assessment, Check, SpecificationRevision, Study
from checks.selectors.days import day_at
from fleet.models import Membership, Turbocharger, TurbochargerModel, User
from fleet.problems import FleetError
from fleet.selectors import scope


def dated_for(on: date) -> QuerySet[SpecificationRevision]:
    """Revisions whose dates hold on the day `on`, both ends included."""
    dated = Q(effective_from__lte=on) & (Q(effective_to__isnull=True) | Q(effective_to__gte=on))
    return SpecificationRevision.objects.filter(dated)


def revision_in_force(turbocharger_model: TurbochargerModel, on: date) -> SpecificationRevision | None:
    """The revision by which a check of `turbocharger_model` made on the day `on` is judged; one query.

    Of several whose dates hold, the one that took effect last: a new revision takes over on its first day
    even where nobody entered an end for the one before it.
    """
    return (
        dated_for(on)
        .filter(turbocharger_model=turbocharger_model)
        .select_related("turbocharger_model")
        .order_by("-effective_from")
        .first()
    )


def revisions_in_force(turbocharger_models: Iterable[TurbochargerModel], on: date) -> dict[int, SpecificationRevision]:
    """`revision_in_force` of many models, by the model's primary key; models without one are left out. One query."""
    rows = (
        dated_for(on)
        .filter(turbocharger_model__in=list(turbocharger_models))
        .select_related("turbocharger_model")
        .order_by("effective_from")
    )
    return {row.turbocharger_model_id: row for row in rows}


def revision_to_type_by(turbocharger: Turbocharger, named: str) -> SpecificationRevision:
    """The revision whose key a sheet names, else the one in force today. Raises FleetError where there is none."""
    model = turbocharger.model
    rows = SpecificationRevision.objects.filter(turbocharger_model=model).select_related("turbocharger_model")
    found = rows.filter(pk=int(named)).first() if named.isascii() and named.isdecimal() and len(named) < 16 else None
    revision = found or revision_in_force(model, day_at(turbocharger.depot, timezone.now()))
    if revision is None:
        raise FleetError(
            "no_specification",
            "",
            f"No specification of {model} is in force, so nothing could be judged. Ask a manager to enter one.",
            status=409,
        )
    return revision


def is_used(specification: SpecificationRevision) -> bool:
    """Whether a check, an assessment or a study rests on this revision, so that it may not change any more."""
    return (
        Check.objects.filter(specification=specification).exists()
        or Assessment.objects.filter(specification=specification).exists()
        or Study.objects.filter(specification=specification).exists()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelRow:
    """A turbocharger model with its revision in force, the number of its revisions, and the one that comes next."""

    model: TurbochargerModel
    in_force: SpecificationRevision | None
    revisions: int
    next_from: date | None
    turbochargers: int


def model_rows(user: User, *, on: date) -> list[ModelRow]:
    """Every model with the specification in force on the day `on`; specifications are common to the fleet.

    Three queries. Raises FleetError 403 for a person without any role.
    """
    scope.require(user, Membership.Role.VIEWER)
    models = list(TurbochargerModel.objects.annotate(units=Count("turbochargers")).order_by("name"))
    held = revisions_in_force(models, on)
    counts: dict[int, int] = {}
    coming: dict[int, date] = {}
    dated = SpecificationRevision.objects.order_by("effective_from").values_list("turbocharger_model", "effective_from")
    for model, start in dated:
        counts[model] = counts.get(model, 0) + 1
        if start > on:
            coming.setdefault(model, start)
    return [
        ModelRow(
            model=model,
            in_force=held.get(model.pk),
            revisions=counts.get(model.pk, 0),
            next_from=coming.get(model.pk),
            turbochargers=model.units,
        )
        for model in models
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionRow:
    """One revision in the line of its model. ``state``: 'in force', 'replaced', 'ended' or 'not yet'."""

    revision: SpecificationRevision
    state: str
    last_day: date | None
    used: bool
    checks: int


def revision_rows(user: User, turbocharger_model: TurbochargerModel, *, on: date) -> list[RevisionRow]:
    """All revisions of a model, newest first, with how many checks were judged by each; one query after scope."""
    scope.require(user, Membership.Role.VIEWER)
    judged = Assessment.objects.filter(specification=OuterRef("pk"))
    studied = Study.objects.filter(specification=OuterRef("pk"))
    rows = list(
        SpecificationRevision.objects.filter(turbocharger_model=turbocharger_model)
        .select_related("turbocharger_model", "made_by")
        .annotate(check_count=Count("checks"), is_judged=Exists(judged), is_studied=Exists(studied))
        .order_by("-effective_from")
    )
    starts = [row.effective_from for row in rows]
    held = next((row for row in rows if _holds(row, on)), None)
    return [
        RevisionRow(
            revision=row,
            state=_state(row, held, on),
            last_day=_last_day(row, starts[i - 1] if i else None),
            used=bool(row.check_count or row.is_judged or row.is_studied),
            checks=row.check_count,
        )
        for i, row in enumerate(rows)
    ]


def _holds(row: SpecificationRevision, on: date) -> bool:
    return row.effective_from <= on and (row.effective_to is None or row.effective_to >= on)


def _state(row: SpecificationRevision, held: SpecificationRevision | None, on: date) -> str:
    if row is held:
        return "in force"
    if row.effective_from > on:
        return "not yet"
    return "ended" if row.effective_to is not None and row.effective_to < on else "replaced"


def _last_day(row: SpecificationRevision, next_start: date | None) -> date | None:
    """The last day on which the revision judges: its own end, or the eve of the next one, whichever is earlier."""
    eve = date.fromordinal(next_start.toordinal() - 1) if next_start else None
    days = [day for day in (row.effective_to, eve) if day]
    return min(days) if days else None


def stimulus_unit(turbocharger_model: TurbochargerModel, user: User) -> str:
    """The reader's unit of pressure, or % of command."""
    electric = turbocharger_model.stimulus == TurbochargerModel.Stimulus.ELECTRIC
    return "%" if electric else str(user.pressure_unit)
