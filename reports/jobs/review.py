"""The job that makes a review, and the beat that asks for one when a month is over."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.utils import timezone

from checks.selectors.days import day_at
from fleet.jobs.run import Run as JobRun
from fleet.models import Depot
from reports.export.csv import zip_of
from reports.export.frozen import Run, thaw
from reports.export.pdf import pdf_of
from reports.export.xlsx import workbook
from reports.models import Review, ReviewFile
from reports.review.month import Month, month_before
from reports.review.records import read_records
from reports.review.tables import TABLES, run_of, tables_of
from reports.selectors.reviews import asked_since
from reports.services.review import ask_by_calendar, keep_file, keep_frozen

WRITERS: dict[str, Callable[[Run], bytes]] = {
    ReviewFile.Kind.CSV: zip_of,
    ReviewFile.Kind.XLSX: workbook,
    ReviewFile.Kind.PDF: pdf_of,
}
# Reading, each table, freezing, each file.
STEPS = 1 + len(TABLES) + 1 + len(WRITERS)
# Days of the month on which the calendar asks: a worker that was down on the first catches up.
ASKING_DAYS = 7


def make_review(run: JobRun) -> dict[str, Any]:
    """Make one run. Arguments: ``review``, its primary key.

    Once frozen it is never read again from the records: a killed worker goes on with the files that lack.
    """
    review = Review.objects.select_related("depot").get(pk=run.arguments["review"])
    if review.frozen_at is None:
        _freeze(run, review)
        review.refresh_from_db()
    frozen, made = thaw(bytes(review.frozen)), set(review.files.values_list("kind", flat=True))
    done = STEPS - len(WRITERS)
    for kind, write in WRITERS.items():
        done += 1
        if kind in made:
            continue
        run.beat(done=done - 1, total=STEPS, message=f"Writing the {ReviewFile.Kind(kind).label}")
        content = write(frozen)
        with run.step(chunk=kind, done=done, total=STEPS, message=f"{ReviewFile.Kind(kind).label} written"):
            keep_file(review=review, kind=kind, content=content)
    return {"review": review.pk, "digest": review.digest}


def _freeze(run: JobRun, review: Review) -> None:
    run.beat(done=0, total=STEPS, message="Reading the records")
    records = read_records(Month(review.month), review.depot, beat=run.beat)
    at, tables = timezone.now(), []
    for made in tables_of(records):
        tables.append(made)
        run.beat(done=1 + len(tables), total=STEPS, message=made.title)
    frozen = run_of(records, tables, number=review.pk, made_at=at)
    with run.step(chunk="frozen", done=2 + len(tables), total=STEPS, message="Frozen"):
        keep_frozen(review=review, run=frozen, at=at)


def ask_for_reviews(now: datetime | None = None) -> int:
    """In the first days of a month ask for the fleet's review of the last one and each depot's; returns how many."""
    moment = now or timezone.now()
    scopes: dict[tuple[Any, int | None], Depot | None] = {}
    days = [(depot, day_at(depot, moment)) for depot in Depot.objects.filter(checks__isnull=False).distinct()]
    for depot, day in days:
        if day.day <= ASKING_DAYS:
            scopes[month_before(day).first, depot.pk] = depot
    # The fleet's month is over when it is at its last depot.
    last = min((day for _, day in days), default=None)
    if last and last.day <= ASKING_DAYS:
        scopes[month_before(last).first, None] = None
    if not scopes:
        return 0
    missing = set(scopes) - asked_since(scopes)
    asked = [ask_by_calendar(month=Month(key[0]), depot=scopes[key]) for key in sorted(missing, key=str)]
    return sum(review is not None for review in asked)
