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
from fleet.selectors.upkeep import FAILED_DAYS, failed_jobs, kinds_of_work, running_jobs
from fleet.web.access import OperatorView, PersonRequest
from fleet.web.health import GOOD, LOOKS
from fleet.web.jobs import label_of_kind
from reports.selectors.upkeep import current_fits, daily_work, database_version, fresh_depots
from reports.sentences.upkeep import upkeep_sentence

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
            "sentence": upkeep_sentence(work, failed, now),
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
