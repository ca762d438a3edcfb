"""The ledger of background work; the broker only rings a bell."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from fleet.models.constraints import only_one, rule


class Job(models.Model):
    """One piece of work. Whoever holds the unexpired lease, by its token, may move the job on; nobody else."""

    class State(models.TextChoices):
        QUEUED = "queued", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        CANCELLED = "cancelled", "cancelled"

    kind = models.SlugField(max_length=40)
    arguments = models.JSONField(default=dict, blank=True)
    key = models.CharField(max_length=120, blank=True, help_text="Requests with the same key wait as one job.")
    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    done_count = models.PositiveBigIntegerField(default=0)
    total_count = models.PositiveBigIntegerField(null=True, blank=True)
    rows_per_second = models.FloatField(null=True, blank=True)
    message = models.CharField(max_length=200, blank=True)
    chunk = models.JSONField(null=True, blank=True, help_text="Where the last committed chunk ended.")
    result = models.JSONField(null=True, blank=True)
    error = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0, help_text="Starts since a chunk was last committed.")
    lease_token = models.UUIDField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="jobs"
    )
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    not_before = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]
        # Put-back and the minute's ring look for the few jobs that are waiting or running among all that ever were.
        indexes = [
            models.Index(fields=["state", "not_before"], name="jobs_open", condition=Q(state__in=["queued", "running"]))
        ]
        constraints = [
            rule(
                "job_state_known",
                Q(state__in=["queued", "running", "done", "failed", "cancelled"]),
                "A job is waiting, running, done, failed or cancelled.",
            ),
            rule(
                "job_lease_while_running",
                Q(state="running", lease_token__isnull=False, lease_until__isnull=False)
                | (~Q(state="running") & Q(lease_token__isnull=True, lease_until__isnull=True)),
                "A job has a lease while it runs, and only then.",
            ),
            rule(
                "job_end_when_over",
                Q(state__in=["queued", "running"], finished_at__isnull=True)
                | Q(state__in=["done", "failed", "cancelled"], finished_at__isnull=False),
                "A job has an end when it is over, and only then.",
            ),
            rule(
                "job_progress_within_total",
                Q(total_count__isnull=True) | Q(done_count__lte=F("total_count")),
                "A job cannot have done more than there is to do.",
            ),
            rule("job_failure_explained", ~Q(state="failed") | ~Q(error=""), "A failed job says why."),
            only_one(
                "job_waits_once",
                ("kind", "key"),
                "The same work is already waiting.",
                condition=Q(state="queued") & ~Q(key=""),
            ),
            only_one(
                "job_runs_once",
                ("kind", "key"),
                "The same work is already running.",
                condition=Q(state="running") & ~Q(key=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}, {self.get_state_display()}"

    @property
    def is_open(self) -> bool:
        return self.state in {self.State.QUEUED, self.State.RUNNING}

    @property
    def share_done(self) -> float | None:
        """Between 0 and 1, or None while the total is unknown."""
        return self.done_count / self.total_count if self.total_count else None

    @property
    def seconds_left(self) -> float | None:
        """At the present rate, or None while it is unknown."""
        if not self.total_count or not self.rows_per_second:
            return None
        return (self.total_count - self.done_count) / self.rows_per_second
