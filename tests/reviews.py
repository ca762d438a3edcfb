"""A small frozen run, and a review that holds it, without reading any records; rows of tables of a real one."""

import uuid
from datetime import date
from typing import Any

from django.utils import timezone

from reports.export.csv import zip_of
from reports.export.frozen import Chart, Column, Run, Table, table
from reports.export.xlsx import workbook
from reports.models import Review, ReviewFile
from reports.review.month import Month
from reports.services.review import keep_file, keep_frozen

COLUMNS = (
    Column("name", "name", "What it is called."),
    Column("seen_on", "seen", "Day.", "day"),
    Column("travel", "travel", "Rod travel.", "number", "mm", 3),
    Column("low", "from", "Lower limit.", "number", "mm", 3),
    Column("high", "to", "Upper limit.", "number", "mm", 3),
    Column("litres", "litres", "Fuel.", "number", "L", 0),
)
DAY = date(2026, 10, 3)
ROWS: tuple[tuple[Any, ...], ...] = (
    ("=SUM(A1)", DAY, 1.49949, 1.2, 1.8, 1234567.4),
    ('Łódź, "quoted"\nline', None, -0.0004, -0.1, 0.1, None),
    ("#let x = 1", DAY, -0.25, -0.5, float("inf"), 12.5),
)

# The month that is written by hand.
MARCH = Month(date(2025, 3, 1))


def row_of(held: Table, **wanted: str) -> dict[str, str]:
    """The first row of a table that holds the wanted texts, by column."""
    return next(row for row in held.named() if all(row[key] == text for key, text in wanted.items()))


def small_run(**changes: Any) -> Run:
    """A run of one table with everything that a writer may trip over."""
    chart = Chart("range", "name", ("travel", "low", "high"), "Travel", "mm")
    said: dict[str, Any] = {
        "number": 7, "title": "Reliability review of Saltmarsh, October 2026", "month": "2026-10", "scope": "Saltmarsh",
        "made_at": "2026-11-01T04:00:00+00:00", "code_version": "2",
        "sentences": ("Two units stood outside.", "=cmd|' /C calc'!A0"), "cautions": ("Qualified people only.",),
        "tables": (table("units", "Units", "Each unit.", COLUMNS, ROWS, note="A note.", chart=chart),),
    }  # fmt: skip
    return Run(**{**said, **changes})


def kept_review(depot: Any, user: Any) -> Review:
    """A review that is made, with its workbook and CSV files; in the place of the PDF a few bytes."""
    review = Review.objects.create(month=date(2026, 10, 1), depot=depot, requested_by=user, key=uuid.uuid4())
    run = small_run(number=review.pk, scope=depot.name if depot else "the fleet")
    keep_frozen(review=review, run=run, at=timezone.now())
    for kind, content in ((ReviewFile.Kind.CSV, zip_of(run)), (ReviewFile.Kind.XLSX, workbook(run))):
        keep_file(review=review, kind=kind, content=content)
    keep_file(review=review, kind=ReviewFile.Kind.PDF, content=b"%PDF-1.7")
    return review
