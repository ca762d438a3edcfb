"""Runs of the review that a person may read."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Min, Prefetch, Q, QuerySet
from django.http import Http404

from checks.models import Check
from checks.selectors.days import first_day, month_of
from fleet.models import Depot, Job, User
from fleet.selectors.scope import depots_of
from reports.export.frozen import Run, thaw
from reports.models import Review, ReviewFile

REVIEW = "make-review"
LISTED = 60
# The form offers months of two years.
MONTHS_BACK = 24
TYPES = {
    ReviewFile.Kind.PDF: "application/pdf",
    ReviewFile.Kind.XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ReviewFile.Kind.CSV: "application/zip",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRow:
    """A file to take away."""

    kind: str
    word: str
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewRow:
    """A run in the list. ``state``: a state of its job, or 'done'; ``percent`` while it is on its way."""

    pk: int
    month: date
    scope: str
    asked_by: str
    asked_at: datetime
    frozen_at: datetime | None
    state: str
    percent: int | None
    message: str
    error: str
    sentence: str
    digest: str
    depot_code: str | None
    job: int | None
    files: tuple[FileRow, ...]

    @property
    def is_open(self) -> bool:
        return self.state in {Job.State.QUEUED, Job.State.RUNNING}

    @property
    def word(self) -> str:
        """Its state as a person reads it."""
        return {"queued": "waiting", "running": "being made", "done": "made", "failed": "failed"}.get(
            self.state, "stopped"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenFile:
    """A file as it is sent, under a name that says what it is."""

    name: str
    content: bytes
    content_type: str


def sees_all(user: User) -> bool:
    """Whether a person belongs to every depot; two queries."""
    return user.is_superuser or depots_of(user).distinct().count() == Depot.objects.count() > 0


def reviews_for(user: User) -> QuerySet[Review]:
    """Runs of the person's depots; of the fleet where they belong to every depot."""
    wanted = Q(depot__in=depots_of(user))
    if sees_all(user):
        wanted |= Q(depot__isnull=True)
    return Review.objects.filter(wanted)


def review_rows(user: User) -> list[ReviewRow]:
    """The newest runs, without what is frozen; five queries."""
    return [row_of(row) for row in reviews_to_list(user)[:LISTED]]


def reviews_to_list(user: User) -> QuerySet[Review]:
    """Runs of the person's depots with what `row_of` reads, without what is frozen."""
    return _read(reviews_for(user))


def review_row(user: User, pk: int) -> ReviewRow:
    """One run. Raises Http404 where the person may not read it."""
    for row in _read(reviews_for(user).filter(pk=pk)):
        return row_of(row)
    raise Http404


def review_run(user: User, pk: int) -> Run | None:
    """What a run froze; None while it is not."""
    row = reviews_for(user).filter(pk=pk, frozen_at__isnull=False).first()
    return thaw(bytes(row.frozen)) if row else None


def review_file(user: User, pk: int, kind: str) -> TakenFile:
    """A file. Raises Http404 where there is none for this person."""
    row = ReviewFile.objects.filter(review__in=reviews_for(user), review=pk, kind=kind).select_related("review__depot")
    for found in row.defer("review__frozen"):
        review = found.review
        scope = review.depot.code.lower() if review.depot else "fleet"
        name = f"review-{review.month:%Y-%m}-{scope}-{review.pk}.{kind}"
        return TakenFile(name=name, content=bytes(found.content), content_type=TYPES[ReviewFile.Kind(kind)])
    raise Http404


def months_on_record(today: date) -> list[date]:
    """First days of the months that are over and have records, the newest first; one query."""
    began = Check.objects.aggregate(at=Min("made_at"))["at"]
    first = began.date().replace(day=1) if began else today.replace(day=1)
    last = month_of(today) - 1
    months = [first_day(month) for month in range(last, last - MONTHS_BACK, -1)]
    return [month for i, month in enumerate(months) if i == 0 or month >= first]


def asked_since(scopes: Collection[tuple[date, int | None]]) -> set[tuple[date, int | None]]:
    """Which of (month, depot) have a run; one query. None is asked for before its month is over."""
    months = {month for month, _ in scopes}
    found: Any = Review.objects.filter(month__in=months).values_list("month", "depot")
    return set(found) & set(scopes)


def _read(rows: QuerySet[Review]) -> QuerySet[Review]:
    return (
        rows.defer("frozen")
        .select_related("depot", "requested_by", "job")
        .prefetch_related(_files())
        .order_by("-month", "-pk")
    )


def _files() -> Prefetch:
    return Prefetch("files", queryset=ReviewFile.objects.defer("content").order_by("kind"))


def row_of(row: Review) -> ReviewRow:
    files = tuple(FileRow(kind=f.kind, word=f.get_kind_display(), size=f.size) for f in row.files.all())
    job, whole = row.job, len(files) == len(ReviewFile.Kind.values)
    state = "done" if whole else job.state if job else "cancelled"
    share = job.share_done if job else None
    return ReviewRow(
        pk=row.pk, month=row.month, scope=row.depot.name if row.depot else "the whole fleet",
        asked_by=row.requested_by.display_name if row.requested_by else "the calendar", asked_at=row.asked_at,
        frozen_at=row.frozen_at, state=state, percent=None if share is None else round(100 * share),
        message=job.message if job else "", error=job.error if job else "", sentence=row.sentence,
        digest=row.digest, depot_code=row.depot.code if row.depot else None, job=row.job_id, files=files,
    )  # fmt: skip
