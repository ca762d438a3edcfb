"""Measurement studies that count: what was published for a depot, from when to when."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.study import Study
from fleet.models import Depot, TurbochargerModel
from fleet.models.constraints import only_one, rule


class Publication(models.Model):
    """Figures of a study that count for a depot's checks from ``counts_from`` until ``ended_at``, which is excluded.

    Never edited: it is ended once, with a reason, by a withdrawal or by the publication that takes its place.
    Standard deviations in mm with their degrees of freedom; interaction counts as reproducibility. ``stimulus``:
    what kind of stimulus the parts had, since a study with pressure tells nothing of a command tool.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="publications")
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="publications")
    stimulus = models.CharField("actuator", max_length=10, choices=TurbochargerModel.Stimulus)
    repeatability_mm = models.FloatField()
    repeatability_dof = models.FloatField()
    reproducibility_mm = models.FloatField()
    reproducibility_dof = models.FloatField()
    code_version = models.CharField(max_length=20)
    counts_from = models.DateTimeField()
    reason = models.TextField()
    published_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    published_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_reason = models.TextField(blank=True)
    replaced_by = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced")

    class Meta:
        ordering = ["-counts_from", "-id"]
        indexes = [
            # Every assessment asks which publication counted for its depot when the check was made.
            models.Index(fields=["depot", "stimulus", "counts_from"], name="publications_by_depot_and_time"),
        ]
        constraints = [
            only_one(
                "one_publication_counts",
                ("depot", "stimulus"),
                "A study of this depot counts already. Withdraw it, or publish in its place.",
                condition=Q(ended_at__isnull=True),
            ),
            rule("publication_has_reason", ~Q(reason=""), "Say why the study is published."),
            rule(
                "publication_figures_plausible",
                Q(repeatability_mm__gte=0, repeatability_mm__lte=100, repeatability_dof__gte=1)
                & Q(reproducibility_mm__gte=0, reproducibility_mm__lte=100, reproducibility_dof__gte=1),
                "Standard deviations lie between 0 and 100 mm, degrees of freedom from 1.",
            ),
            rule(
                "publication_ended_with_reason",
                Q(ended_at__isnull=True, ended_by__isnull=True, ended_reason="", replaced_by__isnull=True)
                | (Q(ended_at__isnull=False, ended_by__isnull=False) & ~Q(ended_reason="")),
                "Say who ends the publication and why.",
            ),
            rule(
                "publication_ends_after_it_counts",
                Q(ended_at__isnull=True) | Q(ended_at__gte=models.F("counts_from")),
                "A publication cannot end before it counts.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.study}, from {self.counts_from:%Y-%m-%d}"
