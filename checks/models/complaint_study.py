"""What became of complaints: the check that answered one, and what all of them say about wastegates."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.check import Check
from fleet.models import Complaint
from fleet.models.constraints import only_one


class ComplaintAnswer(models.Model):
    """The check by which a complaint was answered. A fact: chosen by whoever closed the complaint."""

    complaint = models.OneToOneField(Complaint, on_delete=models.CASCADE, related_name="answer")
    check_made = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="answers")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-recorded_at", "-id"]

    def __str__(self) -> str:
        return f"{self.complaint}: {self.check_made}"


class ComplaintStudy(models.Model):
    """Fuel complaints against travel over the whole fleet: derived, the current one counts, older ones stay.

    ``lags``: one entry for each lag of 0 to 6 months, with the odds ratios (overall, low, high), the counts and the
    two-by-two table of each stratum. ``complaints``: rows of [complaint, truck, one letter for each lag: l low,
    h high, i inside, u unknown]. ``silent``: rows of [truck, turbocharger, first month, last month, letter] of trucks
    that are thirsty and outside up to their last month without a fuel complaint. Months are 12 * year + month - 1;
    infinite and missing numbers are null. ``inputs``: digest of what it was derived from.
    """

    is_current = models.BooleanField(default=True)
    made_at = models.DateTimeField(auto_now_add=True)
    code_version = models.CharField(max_length=20)
    first_month = models.IntegerField()
    last_month = models.IntegerField()
    trucks = models.PositiveIntegerField()
    cells = models.PositiveIntegerField(help_text="Truck-months counted.")
    lags = models.JSONField()
    complaints = models.JSONField()
    silent = models.JSONField()
    derived_from = models.JSONField()
    inputs = models.CharField(max_length=64)

    class Meta:
        verbose_name_plural = "complaint studies"
        ordering = ["-made_at", "-id"]
        constraints = [
            only_one(
                "one_current_complaint_study",
                ("is_current",),
                "There is a current study of complaints already.",
                condition=Q(is_current=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{len(self.complaints)} complaints, {self.trucks} trucks"
