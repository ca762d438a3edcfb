"""What each restored wastegate gave back in fuel: derived, rebuilt at will with the same numbers."""

from django.db import models
from django.db.models import Q

from checks.models.check import Check
from fleet.models import Fitment, Truck, Turbocharger
from fleet.models.constraints import only_one, rule


class Restoration(models.Model):
    """A truck whose wastegate was outside its window and was brought back, by turning the rod or by another unit.

    One row a truck and month (12 * year + month - 1); ``units`` says how many were brought back in it, and the others
    are of the one farthest out. ``beyond_mm``: how far as found lay past the limit. ``change``: log fuel use after less
    before, less that of ``controls`` trucks without a change; empty with a ``reason`` where it cannot be told.
    ``litres_since``: fuel burnt in the months after it.
    """

    class Means(models.TextChoices):
        TURNED = "turned", "rod turned"
        SWAPPED = "swapped", "another unit fitted"

    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="restorations", db_index=False)
    month = models.IntegerField()
    day = models.DateField()
    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.CASCADE, related_name="restorations")
    means = models.CharField(max_length=7, choices=Means)
    check_made = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="restorations")
    fitment = models.ForeignKey(
        Fitment, on_delete=models.CASCADE, null=True, blank=True, related_name="+", help_text="That came in its place."
    )
    units = models.PositiveSmallIntegerField(default=1)
    side = models.CharField(max_length=12, choices=[("outside_low", "outside low"), ("outside_high", "outside high")])
    beyond_mm = models.FloatField()
    months_before = models.PositiveSmallIntegerField()
    months_after = models.PositiveSmallIntegerField()
    change = models.FloatField(null=True, blank=True)
    standard_error = models.FloatField(null=True, blank=True)
    dof = models.FloatField(null=True, blank=True)
    controls = models.PositiveIntegerField(default=0)
    reason = models.CharField(max_length=200, blank=True)
    litres_since = models.FloatField(default=0.0)
    code_version = models.CharField(max_length=20)
    derived_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-day", "truck"]
        indexes = [
            # The page and its file read the latest first.
            models.Index(fields=["-day", "id"], name="restorations_by_day"),
        ]
        constraints = [
            only_one("one_restoration_a_month", ("truck", "month"), "This truck was restored in this month already."),
            rule(
                "restoration_told_or_reason",
                Q(change__isnull=False, standard_error__gt=0, dof__gt=0, reason="")
                | (Q(change__isnull=True) & ~Q(reason="")),
                "A restoration tells its change, or why it cannot be told.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.truck} on {self.day}"
