"""What drivers and customers say of a truck."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models.constraints import rule
from fleet.models.truck import Truck


class Complaint(models.Model):
    """A complaint about a truck, open until it has a finding and a closing date."""

    class Kind(models.TextChoices):
        FUEL = "fuel_economy", "fuel economy"
        POWER = "low_power", "low power"
        SMOKE = "smoke", "smoke"
        NOISE = "noise", "noise"
        HEAT = "over_temperature", "over-temperature"
        OTHER = "other", "other"

    truck = models.ForeignKey(Truck, on_delete=models.PROTECT, related_name="complaints")
    kind = models.CharField(max_length=20, choices=Kind)
    raised_on = models.DateField()
    raised_by = models.CharField(max_length=80)
    text = models.TextField(blank=True)
    finding = models.TextField(blank=True)
    closed_on = models.DateField(null=True, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    key = models.UUIDField(null=True, blank=True, unique=True, editable=False, help_text="Tells a repeat.")
    history = HistoricalRecords()

    class Meta:
        ordering = ["-raised_on", "-id"]
        indexes = [
            # Open complaints drive re-checks and are looked for by truck.
            models.Index(fields=["truck", "raised_on"], name="complaints_by_truck"),
            # The register's list, the latest first.
            models.Index(fields=["-raised_on", "-id"], name="complaints_by_day"),
        ]
        constraints = [
            rule(
                "complaint_closed_after_raised",
                Q(closed_on__isnull=True) | Q(closed_on__gte=F("raised_on")),
                "A complaint cannot be closed before it was raised.",
            ),
            rule(
                "complaint_closed_with_finding",
                Q(closed_on__isnull=True) | ~Q(finding=""),
                "Say what was found before closing the complaint.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.truck}, {self.raised_on}"
