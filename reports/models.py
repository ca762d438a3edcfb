"""Runs of the monthly review: frozen, with the files made from them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from fleet.models import Depot, Job
from fleet.models.constraints import only_one, rule


class Review(models.Model):
    """One run for one month. ``depot`` empty: the whole fleet. How far it is, its job says.

    ``frozen``: the tables as gzipped canonical JSON, from which alone every file is made; ``digest``: SHA-256 of the
    JSON. Once frozen a run is never changed: another run of the same month is another row.
    """

    month = models.DateField(help_text="Its first day.")
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, null=True, blank=True, related_name="reviews")
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="reviews",
        help_text="Empty where the calendar asked.",
    )  # fmt: skip
    asked_at = models.DateTimeField(default=timezone.now, editable=False)
    job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    key = models.UUIDField(null=True, blank=True, unique=True, editable=False, help_text="Tells a repeat.")
    frozen = models.BinaryField(default=bytes, editable=False)
    digest = models.CharField(max_length=64, blank=True, editable=False)
    code_version = models.CharField(max_length=20, blank=True)
    frozen_at = models.DateTimeField(null=True, blank=True)
    sentence = models.TextField(blank=True, help_text="The first sentence of its summary.")

    class Meta:
        ordering = ["-month", "-id"]
        indexes = [
            # The list reads the newest months first.
            models.Index(fields=["-month", "-id"], name="reviews_by_month"),
        ]
        constraints = [
            rule(
                "review_frozen_whole",
                Q(frozen_at__isnull=True, digest="") | (Q(frozen_at__isnull=False) & ~Q(digest="")),
                "A frozen run carries its digest.",
            ),
            only_one(
                "review_by_calendar_once",
                ("month", "depot"),
                "The calendar asked for this depot's review already.",
                condition=Q(requested_by__isnull=True, depot__isnull=False, key__isnull=True),
            ),
            only_one(
                "fleet_review_by_calendar_once",
                ("month",),
                "The calendar asked for the fleet's review already.",
                condition=Q(requested_by__isnull=True, depot__isnull=True, key__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"Review of {self.depot or 'the fleet'}, {self.month:%b %Y}"


class ReviewFile(models.Model):
    """A file made from a frozen run; made again from it at will."""

    class Kind(models.TextChoices):
        PDF = "pdf", "PDF"
        XLSX = "xlsx", "workbook"
        CSV = "zip", "CSV files"

    review = models.ForeignKey(Review, on_delete=models.CASCADE, related_name="files")
    kind = models.CharField(max_length=4, choices=Kind)
    content = models.BinaryField(editable=False)
    size = models.PositiveIntegerField()
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["review", "kind"]
        constraints = [only_one("one_review_file_of_a_kind", ("review", "kind"), "This file is made already.")]

    def __str__(self) -> str:
        return f"{self.review}, {self.get_kind_display()}"
