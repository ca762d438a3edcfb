"""The page of those who run the installation: what waits, what failed, how fresh the data is, which versions run."""

import platform
from datetime import datetime, timedelta
from typing import Any

import celery
import django
from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views import View

from checks.convert import CODE_VERSION
from fleet.jobs.requests import retry
from fleet.problems import FleetError
from fleet.selectors.jobs import job_of
from fleet.selectors.upkeep import FAILED_DAYS, FailedRow, KindRow, failed_jobs, kinds_of_work, running_jobs
from fleet.web.access import OperatorView, PersonRequest
from fleet.web.health import GOOD, LOOKS
from fleet.web.jobs import label_of_kind
from reports.selectors.upkeep import current_fits, daily_work, database_version, fresh_depots
from reports.words import capital, count_of, number

# A day and what a busy night may add.
LATE = timedelta(hours=26)
SETTLED = {"job_not_stopped", "job_waits_once"}


class UpkeepView(OperatorView, View):
    """Everything at one glance, by a constant number of queries."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page."""
        now = timezone.now()
        work, failed = kinds_of_work(now=now), failed_jobs(now=now)
        context = {
            "sentence": sentence(work, failed, now),
            "parts": [(name, look()) for name, look in LOOKS.items()],
            "good": GOOD,
            "work": [(label_of_kind(row.kind), row) for row in work],
            "running": [(label_of_kind(row.kind), row) for row in running_jobs(now=now)],
            "failed": [(label_of_kind(row.kind), row) for row in failed],
            "failed_days": FAILED_DAYS,
            "daily": [(label_of_kind(kind), at, is_late(at, now)) for kind, at in daily_work()],
            "depots": fresh_depots(),
            "fits": current_fits(),
            "versions": versions(),
        }
        return render(request, "reports/upkeep.html", context)


class RetryView(OperatorView, View):
    """Put a failed job back; asked twice, the second time finds it on its way and says so."""

    def post(self, request: PersonRequest, job_id: int) -> HttpResponse:
        """Lead back to the page with what became of it."""
        job = job_of(request.user, job_id=job_id)
        try:
            retry(job=job)
        except FleetError as error:
            if error.code not in SETTLED:
                raise
            job.refresh_from_db()
            messages.info(request, f"Job no. {job.pk} is {job.get_state_display()}; nothing was done twice.")
        else:
            messages.success(request, f"Job no. {job.pk} goes on after what it had written.")
        return redirect("reports:upkeep")


def sentence(work: list[KindRow], failed: list[FailedRow], now: datetime) -> str:
    """Such as ``3 jobs wait, the oldest for 4 minutes; 1 runs; 2 failed in the last 30 days.``"""
    waiting, running = sum(row.waiting for row in work), sum(row.running for row in work)
    parts = []
    if waiting:
        oldest = min(row.oldest_at for row in work if row.oldest_at)
        parts.append(
            f"{count_of(waiting, 'job')} {'waits' if waiting == 1 else 'wait'}, the oldest for {age(now - oldest)}"
        )
    else:
        parts.append("no job waits")
    parts.append(f"{number(running)} {'runs' if running == 1 else 'run'}" if running else "none runs")
    parts.append(f"{number(len(failed)) if failed else 'none'} failed in the last {FAILED_DAYS} days")
    return capital("; ".join(parts)) + "."


def age(passed: timedelta) -> str:
    """A span in the largest unit that leaves a whole number, such as ``4 minutes``."""
    seconds = max(0, int(passed.total_seconds()))
    for size, unit in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        if seconds >= size:
            return count_of(seconds // size, unit)
    return count_of(seconds, "second")


def is_late(at: datetime | None, now: datetime) -> bool:
    """Whether a day's own work was not done in a day."""
    return at is None or now - at > LATE


def versions() -> list[tuple[str, Any]]:
    """What runs here."""
    return [
        ("this register", settings.RELEASE),
        ("the measurement's code", CODE_VERSION),
        ("Python", platform.python_version()),
        ("Django", django.get_version()),
        ("Celery", celery.__version__),
        ("database", database_version()),
        ("broker", "Redis" if settings.REDIS_URL else "a folder of this machine"),
    ]
