"""Which forecasts and plans the register has overtaken."""

from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import Exists, F, Max, OuterRef, Q, QuerySet

from checks.models import Amendment, DriftFit, Policy, SpecificationRevision
from fleet.models import Complaint, Fitment, Installation, Job, MeterReading, Turbocharger, TurbochargerModel

REFIT, SWEEP = "refit", "sweep"


def awaiting_forecast(model: TurbochargerModel) -> list[int]:
    """Units whose last check, or whose fitting, their forecast does not know yet; in the order of their keys."""
    units = Turbocharger.objects.filter(model=model, scrapped_on__isnull=True, standing__isnull=False)
    behind = Q(forecast__isnull=True) | ~_same_check()
    return list(units.filter(behind).order_by("pk").values_list("pk", flat=True))


def unforecast() -> QuerySet[Turbocharger]:
    """Units without a forecast, in the order of their keys."""
    return Turbocharger.objects.filter(forecast__isnull=True).order_by("pk")


def was_swept(day: date) -> bool:
    """Whether the sweep of a day was asked for."""
    return Job.objects.filter(kind=SWEEP, key=f"night of {day}").exists()


def stale_models() -> list[int]:
    """Models that changed since they were last refitted, or that have checks and were never looked at.

    Reads only what changed since the oldest refit, so it is quick while nothing did.
    """
    refitted = _refitted()
    stale = set(_behind())
    checked = Turbocharger.objects.filter(model=OuterRef("pk"), standing__last_check__isnull=False)
    for model in TurbochargerModel.objects.filter(Exists(checked)).values_list("pk", flat=True):
        if model not in refitted:
            stale.add(model)
    for changed, when in _changes(since=min(refitted.values(), default=None)):
        stale |= {pk for pk, at in refitted.items() if when > at and changed in (pk, None)}
    waiting = Job.objects.filter(kind=REFIT, state__in=[Job.State.QUEUED, Job.State.RUNNING])
    return sorted(stale - {job["model"] for job in waiting.values_list("arguments", flat=True)})


def stale_plans() -> QuerySet[Turbocharger]:
    """Turbochargers whose fitting, truck, meters, complaints or policy changed since their plan was made."""
    unit, made = OuterRef("pk"), OuterRef("standing__derived_at")
    engine = Fitment.objects.filter(turbocharger=OuterRef(unit), removed_on__isnull=True).values("engine")
    truck = Installation.objects.filter(
        engine__fitments__turbocharger=OuterRef(unit),
        engine__fitments__removed_on__isnull=True,
        removed_on__isnull=True,
    ).values("truck")
    changes = (
        Turbocharger.history.filter(id=unit),
        Fitment.history.filter(turbocharger_id=unit),
        Installation.history.filter(engine_id__in=engine),
        MeterReading.history.filter(truck_id__in=truck),
        Complaint.history.filter(truck_id__in=truck),
        Policy.history.all(),
    )
    stale = Q(standing__isnull=True)
    for rows in changes:
        stale |= Q(Exists(rows.filter(history_date__gt=made)))
    return Turbocharger.objects.filter(stale).order_by("pk")


def _same_check() -> Q:
    last = F("standing__last_check")
    return Q(forecast__last_check=last) | Q(forecast__last_check__isnull=True, standing__last_check__isnull=True)


def _behind() -> list[int]:
    rows = Turbocharger.objects.filter(forecast__isnull=False, standing__isnull=False).exclude(_same_check())
    return list(rows.order_by().values_list("model", flat=True).distinct())


def _changes(since: datetime | None) -> Iterator[tuple[int | None, datetime]]:
    """The newest change by model since then; None stands for every model."""
    if since is None:
        return
    sources = (
        (Amendment.objects.all(), "check_made__turbocharger__model", "made_at"),
        (Fitment.history.all(), "turbocharger__model", "history_date"),
        (Turbocharger.history.all(), "model", "history_date"),
        (SpecificationRevision.history.all(), "turbocharger_model", "history_date"),
        (Installation.history.all(), "engine__fitments__turbocharger__model", "history_date"),
    )
    for rows, model, at in sources:
        fresh = rows.filter(**{f"{at}__gt": since}).order_by()
        yield from fresh.filter(**{f"{model}__isnull": False}).values_list(model).annotate(newest=Max(at))
    policy = Policy.history.aggregate(newest=Max("history_date"))["newest"]
    if policy:
        yield None, policy


def _refitted() -> dict[int, datetime]:
    """When each model's last refit began to read."""
    found = dict(DriftFit.objects.filter(is_current=True).values_list("turbocharger_model", "made_at"))
    jobs = Job.objects.filter(kind=REFIT, state=Job.State.DONE, key__startswith="model ").order_by()
    for key, at in jobs.values_list("key").annotate(at=Max("started_at")):
        model = int(key.removeprefix("model "))
        found[model] = max(at, found.get(model, at))
    return found
