"""Turbocharger models, the turbochargers themselves, and what was fitted where, from when to when."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models.constraints import only_one, rule
from fleet.models.depot import Depot
from fleet.models.truck import Engine


class TurbochargerModel(models.Model):
    """A model of turbocharger; specifications belong to it."""

    class Stimulus(models.TextChoices):
        PNEUMATIC = "pneumatic", "pneumatic (pressure)"
        ELECTRIC = "electric", "electric (command)"

    name = models.CharField(max_length=60, unique=True)
    stimulus = models.CharField("actuator", max_length=10, choices=Stimulus)
    note = models.TextField(blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [rule("model_name_given", ~Q(name=""), "Give the turbocharger model a name.")]

    def __str__(self) -> str:
        return self.name


class Turbocharger(models.Model):
    """One turbocharger, which keeps its history wherever it is fitted."""

    class Origin(models.TextChoices):
        NEW = "new", "new"
        RECONDITIONED = "reconditioned", "reconditioned"

    serial = models.CharField("serial number", max_length=40, unique=True)
    model = models.ForeignKey(TurbochargerModel, on_delete=models.PROTECT, related_name="turbochargers")
    origin = models.CharField(max_length=14, choices=Origin, default=Origin.NEW)
    depot = models.ForeignKey(
        Depot, on_delete=models.PROTECT, related_name="turbochargers", help_text="Follows the truck while fitted."
    )
    received_on = models.DateField()
    scrapped_on = models.DateField(null=True, blank=True)
    safety_flag = models.CharField(
        max_length=200, blank=True, help_text="Why someone must inspect it before the next check; empty when clear."
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["serial"]
        constraints = [
            rule("turbocharger_serial_given", ~Q(serial=""), "Give the turbocharger its serial number."),
            rule(
                "scrapped_after_received",
                Q(scrapped_on__isnull=True) | Q(scrapped_on__gte=F("received_on")),
                "A turbocharger cannot be scrapped before it was received.",
            ),
        ]

    def __str__(self) -> str:
        return self.serial


class Fitment(models.Model):
    """A turbocharger on an engine, from a date and meter reading to another."""

    class Position(models.TextChoices):
        SINGLE = "single", "single"
        FRONT = "front", "front"
        REAR = "rear", "rear"

    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.PROTECT, related_name="fitments")
    engine = models.ForeignKey(Engine, on_delete=models.PROTECT, related_name="fitments")
    position = models.CharField(max_length=8, choices=Position, default=Position.SINGLE)
    fitted_on = models.DateField()
    fitted_odometer_km = models.FloatField(null=True, blank=True)
    fitted_engine_hours = models.FloatField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)
    removed_odometer_km = models.FloatField(null=True, blank=True)
    removed_engine_hours = models.FloatField(null=True, blank=True)
    removal_reason = models.CharField(max_length=200, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["-fitted_on", "-id"]
        constraints = [
            only_one(
                "turbocharger_fitted_once",
                ("turbocharger",),
                "This turbocharger is already fitted. Record its removal first, or use a swap.",
                condition=Q(removed_on__isnull=True),
            ),
            only_one(
                "position_holds_one",
                ("engine", "position"),
                "This position already holds a turbocharger. Record its removal first, or use a swap.",
                condition=Q(removed_on__isnull=True),
            ),
            rule(
                "removed_after_fitted",
                Q(removed_on__isnull=True) | Q(removed_on__gte=F("fitted_on")),
                "The turbocharger cannot come off before it was fitted.",
            ),
            rule(
                "removal_meter_not_below_fitting",
                Q(removed_odometer_km__isnull=True)
                | Q(fitted_odometer_km__isnull=True)
                | Q(removed_odometer_km__gte=F("fitted_odometer_km")),
                "The odometer at removal cannot be below the odometer at fitting.",
            ),
            rule(
                "fitment_meters_not_negative",
                (Q(fitted_odometer_km__isnull=True) | Q(fitted_odometer_km__gte=0))
                & (Q(fitted_engine_hours__isnull=True) | Q(fitted_engine_hours__gte=0)),
                "Meter readings cannot be negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger} on {self.engine}, {self.position}"


class Note(models.Model):
    """A remark on a turbocharger, kept as written."""

    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.CASCADE, related_name="notes")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    text = models.TextField()
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [rule("note_not_empty", ~Q(text=""), "Write the note before saving it.")]

    def __str__(self) -> str:
        return self.text[:60]
