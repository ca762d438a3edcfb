"""For each kind of long job: how its data is put back and the job asked for, and the rows that it leaves."""

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Model, QuerySet
from django.utils import timezone

from checks.models import (
    Assessment,
    BayPlace,
    Certificate,
    CertificatePoint,
    Check,
    ComplaintAnswer,
    ComplaintStudy,
    DriftFit,
    Forecast,
    FuelFit,
    FuelLoss,
    FuelMonth,
    FuelTotal,
    Instrument,
    LifeFit,
    Recall,
    RecalledStroke,
    Restoration,
    SpecificationRevision,
    Standing,
    TruckMonth,
)
from checks.services.assessment import request_rejudging
from checks.services.drift_request import request_refit
from checks.services.moments import mark_all
from checks.services.plan import all_turbochargers, replan
from checks.services.recall import open_recall
from fleet.imports.job import go_ahead_later
from fleet.imports.staging import stage
from fleet.jobs.requests import enqueue
from fleet.models import Depot, Job, Membership, StaleCell, Truck, User
from reports.export.frozen import thaw
from reports.models import Review
from reports.review.month import month_before
from reports.services.review import ask_review

TRUCKS = 4000


@dataclass(frozen=True, slots=True)
class Case:
    """`ask` puts the data back and asks for the job; `left` counts what is there afterwards, row by row."""

    ask: Callable[[], Job]
    left: Callable[[], Counter[str]]


def cases() -> dict[str, Case]:
    """Every case by the kind of its job, in the order in which one leads to the next."""
    return {
        "form-moments": Case(form_moments, lambda: rows(TruckMonth, StaleCell)),
        "refit": Case(refit, lambda: rows(DriftFit.objects.filter(is_current=True), Forecast, Standing)),
        "sweep": Case(sweep, lambda: planned() + asked("refit")),
        "fit-fuel": Case(fit_fuel, lambda: rows(FuelFit, FuelMonth, FuelLoss, FuelTotal)),
        "restorations": Case(restorations, lambda: rows(Restoration)),
        "correlate-complaints": Case(correlate, lambda: rows(ComplaintStudy, ComplaintAnswer)),
        "fit-life": Case(fit_life, lambda: rows(LifeFit)),
        "level-depot": Case(level_depot, lambda: rows(BayPlace)),
        "re-judge": Case(Rejudge(), lambda: rows(Assessment)),
        "recall": Case(recall, lambda: rows(RecalledStroke)),
        "bring-in-file": Case(bring_in_file, lambda: rows(Truck)),
        "make-review": Case(make_review, newest_review),
    }


def rows(*sources: type[Model] | QuerySet[Any]) -> Counter[str]:
    """How often each row is there, by a digest of its numbers; what a second run makes anew does not count."""
    found: Counter[str] = Counter()
    for source in sources:
        query = source if isinstance(source, QuerySet) else source._default_manager.all()
        names = [one.attname for one in query.model._meta.concrete_fields if not _own(one)]
        found.update(digest([query.model.__name__, *row]) for row in query.order_by().values_list(*names))
    return found


def _own(field: Any) -> bool:
    stamped = getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False)
    return field.primary_key or stamped or field.name in {"fit", "made_at", "derived_at"}


def digest(row: Iterable[Any]) -> str:
    """One digest of plain values."""
    plain = [bytes(value).hex() if isinstance(value, bytes | memoryview) else value for value in row]
    return hashlib.sha256(json.dumps(plain, default=str, sort_keys=True).encode()).hexdigest()[:20]


def asked(kind: str) -> Counter[str]:
    """Which jobs of a kind wait or were done; asked for twice, they are one."""
    return Counter(set(Job.objects.filter(kind=kind).values_list("key", flat=True)))


def planned() -> Counter[str]:
    """Which units have a plan; its numbers change as soon as one of the refits that a sweep asks for is done."""
    return Counter(map(str, Standing.objects.values_list("turbocharger", flat=True)))


def manager() -> User:
    """Somebody who manages every depot."""
    return next(
        one
        for one in User.objects.filter(memberships__role=Membership.Role.MANAGER).distinct().order_by("pk")
        if one.memberships.count() == Depot.objects.count()
    )


def form_moments() -> Job:
    TruckMonth.objects.all().delete()
    mark_all()
    return enqueue(kind="form-moments", arguments={}, key="form-moments")


def refit() -> Job:
    Forecast.objects.all().delete()
    DriftFit.objects.all().delete()
    Standing.objects.all().delete()
    replan(all_turbochargers())
    model = Standing.objects.filter(last_check__isnull=False).values_list("turbocharger__model", flat=True)[0]
    request_refit([model], delay_s=0)
    return Job.objects.get(kind="refit", state="queued")


def sweep() -> Job:
    Forecast.objects.all().delete()
    Standing.objects.all().delete()
    Job.objects.filter(kind="refit").delete()
    return enqueue(kind="sweep", arguments={}, key="killed")


def fit_fuel() -> Job:
    FuelFit.objects.all().delete()
    return enqueue(kind="fit-fuel", arguments={}, key="fit-fuel")


def restorations() -> Job:
    Restoration.objects.all().delete()
    return enqueue(kind="restorations", arguments={}, key="restorations")


def correlate() -> Job:
    ComplaintStudy.objects.all().delete()
    ComplaintAnswer.objects.all().delete()
    return enqueue(kind="correlate-complaints", arguments={}, key="correlate-complaints")


def fit_life() -> Job:
    LifeFit.objects.all().delete()
    model = Standing.objects.filter(last_check__isnull=False).values_list("turbocharger__model", flat=True)[0]
    return enqueue(kind="fit-life", arguments={"model": model}, key=f"model {model}")


def level_depot() -> Job:
    BayPlace.objects.all().delete()
    depot = Depot.objects.order_by("pk")[0]
    return enqueue(kind="level-depot", arguments={"depot": depot.pk}, key=f"depot {depot.pk}")


class Rejudge:
    """Judges the checks of the model with most by its last revision, from the verdicts that stood at first."""

    first: list[int] | None = None

    def __call__(self) -> Job:
        if self.first is None:
            self.first = list(Assessment.objects.filter(is_current=True).values_list("pk", flat=True))
            self.all = list(Assessment.objects.values_list("pk", flat=True))
        Assessment.objects.exclude(pk__in=self.all).delete()
        Assessment.objects.filter(pk__in=self.first).update(is_current=True)
        revision = SpecificationRevision.objects.order_by("turbocharger_model", "-pk").first()
        return request_rejudging(user=manager(), specification=revision)


def recall() -> Job:
    """A gauge that came back reading five parts in a hundred high, with all checks made by it."""
    RecalledStroke.objects.all().delete()
    used = Instrument.objects.get(pk=busiest_gauge())
    number = "killed and found again"
    Recall.objects.filter(found__number=number).delete()
    Certificate.objects.filter(number=number).delete()
    last = Certificate.objects.filter(instrument=used).latest("issued_on")
    before = list(CertificatePoint.objects.filter(certificate=last, moment="as_left"))
    last.pk, last.number = None, number
    last.issued_on, last.due_on = timezone.localdate(), timezone.localdate() + timedelta(days=365)
    last._state.adding = True
    last.save()
    for point in before:
        for moment, error in (("as_left", point.error), ("as_found", 0.05 * point.indication)):
            point.pk, point.certificate, point.moment, point.error = None, last, moment, error
            point._state.adding = True
            point.save()
    opened = open_recall(certificate=last)
    return Job.objects.get(kind="recall", state="queued", key=f"recall {opened.pk if opened else 0}")


def busiest_gauge() -> int:
    """The gauge with the most checks since it was last certified."""
    made: Counter[int] = Counter()
    for gauge in Instrument.objects.filter(kind=Instrument.Kind.GAUGE):
        last = Certificate.objects.filter(instrument=gauge, issued_on__lt=timezone.localdate()).latest("issued_on")
        made[gauge.pk] = Check.objects.filter(stimulus_instrument=gauge, made_at__date__gte=last.issued_on).count()
    return made.most_common(1)[0][0]


def bring_in_file() -> Job:
    """Trucks of a fleet that was bought."""
    Truck.objects.filter(unit_number__startswith="KJ").delete()
    depot = Depot.objects.order_by("pk")[0]
    lines = "".join(f"KJ{n:05d},{depot.code},2024-03-0{1 + n % 9}\n" for n in range(TRUCKS))
    content = ("unit_number,depot,in_service_on\n" + lines).encode()
    user = manager()
    return go_ahead_later(user=user, waiting=stage(user=user, kind="trucks", name="bought.csv", content=content))


def make_review() -> Job:
    asked_for = ask_review(user=manager(), month=month_before(timezone.localdate()), depot=None, key=None)
    return asked_for.job


def newest_review() -> Counter[str]:
    """The frozen tables, by their digest, and the files made from them, by kind."""
    made = Review.objects.latest("pk")
    tables = digest([asdict(one) for one in thaw(bytes(made.frozen)).tables])
    return Counter([tables, *made.files.values_list("kind", flat=True)])
