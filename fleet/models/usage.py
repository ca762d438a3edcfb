"""Meter readings of trucks, kept as typed beside the converted value."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from fleet.models.constraints import only_one, rule
from fleet.models.truck import Truck


class MeterReading(models.Model):
    """Odometer (km) and engine hours of a truck at one moment; at least one of the two.

    ``replaced_meter`` marks the first reading of a new meter, which may be lower than the last.
    """

    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="meter_readings")
    read_at = models.DateTimeField()
    odometer_km = models.FloatField(null=True, blank=True)
    odometer_typed = models.CharField(max_length=40, blank=True, help_text="As typed, with its unit.")
    engine_hours = models.FloatField(null=True, blank=True)
    replaced_meter = models.BooleanField(default=False)
    source = models.CharField(max_length=40, default="typed")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["-read_at"]
        # The unit page and rates of use read one truck's meters in time order.
        indexes = [models.Index(fields=["truck", "-read_at"], name="meter_by_truck_and_time")]
        constraints = [
            rule(
                "meter_reading_given",
                Q(odometer_km__isnull=False) | Q(engine_hours__isnull=False),
                "Give the odometer, the engine hours, or both.",
            ),
            rule(
                "meter_reading_plausible",
                (Q(odometer_km__isnull=True) | Q(odometer_km__gte=0, odometer_km__lte=10_000_000))
                & (Q(engine_hours__isnull=True) | Q(engine_hours__gte=0, engine_hours__lte=1_000_000)),
                "A meter reads between 0 and 10,000,000 km, or between 0 and 1,000,000 h.",
            ),
            only_one(
                "one_meter_reading_per_moment",
                ("truck", "read_at"),
                "This truck already has a meter reading at this moment.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.truck} at {self.read_at:%Y-%m-%d}"
