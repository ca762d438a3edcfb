"""Pages that show how far a job is, and let its asker cancel or retry it."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views import View

from fleet.jobs.registry import kind_of
from fleet.jobs.requests import cancel, retry
from fleet.problems import FleetError
from fleet.selectors.jobs import JobRow, job_of, job_row, recent_jobs
from fleet.web.access import VIEWER, PersonRequest, RoleView


class JobsPage(RoleView, View):
    """The latest jobs of whoever asks."""

    def get(self, request: PersonRequest) -> HttpResponse:
        jobs = [(label_of(job), job) for job in recent_jobs(request.user)]
        return render(request, "fleet/jobs/list.html", {"jobs": jobs})


class JobPage(RoleView, View):
    """One job; its progress is a fragment that asks for itself again while the job is open."""

    template = "fleet/jobs/job.html"

    def get(self, request: PersonRequest, job_id: int) -> HttpResponse:
        job = job_row(request.user, job_id=job_id)
        return render(request, self.template, {"job": job, "label": label_of(job)})


class ProgressFragment(JobPage):
    """The part of the page that changes."""

    template = "fleet/jobs/progress.html"


class CancelJob(RoleView, View):
    """Stop a job."""

    role_to_write = VIEWER

    def post(self, request: PersonRequest, job_id: int) -> HttpResponse:
        cancel(job=job_of(request.user, job_id=job_id))
        return redirect("jobs:job", job_id)


class RetryJob(RoleView, View):
    """Let a stopped job go on from its last chunk."""

    role_to_write = VIEWER

    def post(self, request: PersonRequest, job_id: int) -> HttpResponse:
        retry(job=job_of(request.user, job_id=job_id))
        return redirect("jobs:job", job_id)


def label_of(job: JobRow) -> str:
    """Return the name of a job's kind."""
    return label_of_kind(job.kind)


def label_of_kind(kind: str) -> str:
    """Return the name of a kind of job; the bare kind when its app is no longer installed."""
    try:
        return kind_of(kind).label
    except FleetError:
        return kind


app_name = "jobs"
urlpatterns = [
    path("", JobsPage.as_view(), name="list"),
    path("<int:job_id>/", JobPage.as_view(), name="job"),
    path("<int:job_id>/progress/", ProgressFragment.as_view(), name="progress"),
    path("<int:job_id>/cancel/", CancelJob.as_view(), name="cancel"),
    path("<int:job_id>/retry/", RetryJob.as_view(), name="retry"),
]
