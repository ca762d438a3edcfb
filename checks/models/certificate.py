"""Calibration certificates of instruments, with their points."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from checks.models.instrument import Instrument
from fleet.models.constraints import only_one, rule


class Certificate(models.Model):
    """A calibration certificate of one instrument. ``superseded_reason`` marks one entered in error."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=60)
    laboratory = models.CharField(max_length=120, blank=True)
    issued_on = models.DateField()
    due_on = models.DateField()
    note = models.TextField(blank=True)
    superseded_reason = models.CharField(max_length=200, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-issued_on", "-id"]
        constraints = [
            only_one(
                "certificate_number_once",
                ("instrument", "number"),
                "This instrument already has a certificate of that number.",
            ),
            rule(
                "certificate_due_after_issue",
                Q(due_on__gt=F("issued_on")),
                "The due date must lie after the date of issue.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} of {self.instrument}"


class CertificatePoint(models.Model):
    """One calibrated point, as found on arrival or as left after adjustment.

    ``error`` = indication - reference; both and the expanded uncertainty in the instrument's quantity.
    ``typed``: field name to [text, unit].
    """

    class Moment(models.TextChoices):
        AS_FOUND = "as_found", "as found"
        AS_LEFT = "as_left", "as left"

    certificate = models.ForeignKey(Certificate, on_delete=models.CASCADE, related_name="points")
    moment = models.CharField(max_length=8, choices=Moment)
    indication = models.FloatField()
    error = models.FloatField()
    expanded_uncertainty = models.FloatField()
    coverage_factor = models.FloatField(default=2.0)
    typed = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["moment", "indication"]
        constraints = [
            only_one(
                "one_point_per_indication",
                ("certificate", "moment", "indication"),
                "This certificate already has a point at that indication.",
            ),
            rule(
                "point_uncertainty_positive",
                Q(expanded_uncertainty__gte=0) & Q(coverage_factor__gte=1) & Q(coverage_factor__lte=4),
                "The expanded uncertainty may not be negative and k lies between 1 and 4.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.indication}: {self.error}"
