"""Verdicts: derived from a stroke, kept with what they were derived from, never overwritten."""

from django.db import models
from django.db.models import Q

from checks.models.check import Stroke
from checks.models.publication import Publication
from checks.models.specification import SpecificationRevision
from fleet.models.constraints import only_one, rule


class Assessment(models.Model):
    """One verdict on one stroke. The current one counts; older ones stay.

    ``result`` holds the whole result (budget, voids, features, advice); ``basis`` says why it was made.
    ``certificates`` and ``publication`` (of a study; empty: repeatability was assumed) say what it rests on.
    """

    class State(models.TextChoices):
        INSIDE = "inside", "inside"
        OUTSIDE_LOW = "outside_low", "outside low"
        OUTSIDE_HIGH = "outside_high", "outside high"
        UNDECIDED = "undecided", "undecided"
        VOID = "void", "void"

    stroke = models.ForeignKey(Stroke, on_delete=models.CASCADE, related_name="assessments")
    specification = models.ForeignKey(SpecificationRevision, on_delete=models.PROTECT, related_name="+")
    is_current = models.BooleanField(default=True)
    basis = models.CharField(max_length=60, default="recorded")
    state = models.CharField(max_length=14, choices=State)
    travel_mm = models.FloatField(null=True, blank=True)
    standard_uncertainty_mm = models.FloatField(null=True, blank=True)
    expanded_uncertainty_mm = models.FloatField(null=True, blank=True)
    p_inside = models.FloatField(null=True, blank=True)
    result = models.JSONField()
    certificates = models.JSONField(default=list, help_text="Primary keys of the certificates relied upon.")
    publication = models.ForeignKey(
        Publication, on_delete=models.PROTECT, null=True, blank=True, related_name="assessments"
    )
    code_version = models.CharField(max_length=20)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            only_one(
                "one_current_assessment",
                ("stroke",),
                "This stroke already has a current assessment.",
                condition=Q(is_current=True),
            ),
            rule(
                "probability_between_0_and_1",
                Q(p_inside__isnull=True) | Q(p_inside__gte=0, p_inside__lte=1),
                "A probability lies between 0 and 1.",
            ),
            rule(
                "verdict_has_travel",
                Q(state="void") | Q(travel_mm__isnull=False, expanded_uncertainty_mm__gt=0, p_inside__isnull=False),
                "A verdict needs its travel, uncertainty and probability.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stroke}: {self.get_state_display()}"
