"""Checks as they were made: append-only facts. Corrections are amendments beside them."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.instrument import Instrument
from checks.models.specification import SpecificationRevision
from fleet.models import Complaint, Depot, Fitment, Turbocharger
from fleet.models.constraints import only_one, rule


class Check(models.Model):
    """A signed check of one turbocharger. ``key`` is made where the check was begun and makes signing idempotent."""

    class Reason(models.TextChoices):
        SCHEDULED = "scheduled", "scheduled"
        COMPLAINT = "complaint", "complaint"
        AFTER_ADJUSTMENT = "after_adjustment", "after adjustment"
        REPEAT = "repeat", "repeat of an undecided or void check"
        RECALL = "recall", "instrument recall"
        AFTER_FITTING = "after_fitting", "after fitting"
        OTHER = "other", "other"

    class Geometry(models.TextChoices):
        FLAT_FACE = "flat_face", "plunger on a flat face"
        ROD_POINT = "rod_point", "plunger follows a point of the rod"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.PROTECT, related_name="checks")
    fitment = models.ForeignKey(Fitment, on_delete=models.PROTECT, null=True, blank=True, related_name="checks")
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="checks")
    specification = models.ForeignKey(SpecificationRevision, on_delete=models.PROTECT, related_name="checks")
    technician = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="checks")
    reason = models.CharField(max_length=20, choices=Reason)
    complaint = models.ForeignKey(Complaint, on_delete=models.PROTECT, null=True, blank=True, related_name="checks")
    made_at = models.DateTimeField("made at")
    made_at_typed = models.CharField(
        max_length=40, blank=True, help_text="What the device's clock said, where it was wrong and was set right."
    )
    odometer_km = models.FloatField(null=True, blank=True)
    odometer_typed = models.CharField(max_length=40, blank=True)
    engine_hours = models.FloatField(null=True, blank=True)
    dial = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    stimulus_instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    meter = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    regulator = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    geometry = models.CharField(max_length=10, choices=Geometry, default=Geometry.FLAT_FACE)
    angle_deg = models.FloatField(null=True, blank=True)
    angle_max_deg = models.FloatField(default=5.0)
    cautions_read_at = models.DateTimeField()
    half_turns = models.SmallIntegerField("half turns done", null=True, blank=True)
    note = models.TextField(blank=True)
    source = models.CharField(max_length=20, default="browser")
    digest = models.CharField(max_length=64, blank=True, editable=False, help_text="Tells a repeat from a conflict.")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-made_at", "-id"]
        indexes = [
            # Histories are read one unit at a time, newest first.
            models.Index(fields=["turbocharger", "-made_at"], name="checks_by_unit_and_time"),
            # Reviews and due lists read one depot's months.
            models.Index(fields=["depot", "-made_at"], name="checks_by_depot_and_time"),
        ]
        constraints = [
            rule(
                "check_meters_not_negative",
                (Q(odometer_km__isnull=True) | Q(odometer_km__gte=0))
                & (Q(engine_hours__isnull=True) | Q(engine_hours__gte=0)),
                "Meter readings cannot be negative.",
            ),
            rule(
                "half_turns_plausible",
                Q(half_turns__isnull=True) | Q(half_turns__gte=-40, half_turns__lte=40),
                "Half turns lie between -40 and 40.",
            ),
            rule(
                "alignment_plausible",
                (Q(angle_deg__isnull=True) | Q(angle_deg__gte=0, angle_deg__lte=45))
                & Q(angle_max_deg__gte=0, angle_max_deg__lte=45),
                "The dial's angle lies between 0 and 45 degrees.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger} on {self.made_at:%Y-%m-%d}"


class Stroke(models.Model):
    """The as-found or as-left stroke of a check."""

    class Moment(models.TextChoices):
        AS_FOUND = "as_found", "as found"
        AS_LEFT = "as_left", "as left"

    check_made = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="strokes")
    moment = models.CharField(max_length=8, choices=Moment)

    class Meta:
        ordering = ["check_made", "moment"]
        constraints = [
            only_one("one_stroke_per_moment", ("check_made", "moment"), "This check already has such a stroke."),
        ]

    def __str__(self) -> str:
        return f"{self.check_made}, {self.get_moment_display()}"


class Reading(models.Model):
    """One pair of indications in the order made, as typed beside the converted value.

    ``stimulus`` is in the instrument's own base unit: kPa, %, or the electrical unit of the meter.
    """

    class Phase(models.TextChoices):
        ZERO = "zero", "zero, vented"
        EXERCISE = "exercise", "exercise, highest"
        ZERO_RETURN = "zero_return", "return to zero"
        VENT = "vent", "vented between approaches"
        RISE = "rise", "rise"
        SETTING = "setting", "at the setting"
        FALL = "fall", "fall"
        HOLD = "hold", "leak-down hold"

    stroke = models.ForeignKey(Stroke, on_delete=models.CASCADE, related_name="readings")
    order = models.PositiveSmallIntegerField()
    phase = models.CharField(max_length=12, choices=Phase)
    stimulus = models.FloatField()
    stimulus_typed = models.CharField(max_length=24)
    stimulus_unit = models.CharField(max_length=8)
    travel_mm = models.FloatField(null=True, blank=True)
    travel_typed = models.CharField(max_length=24, blank=True)
    travel_unit = models.CharField(max_length=8, blank=True)
    seconds = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["stroke", "order"]
        constraints = [
            only_one("one_reading_per_place", ("stroke", "order"), "Two readings claim the same place in the stroke."),
            rule(
                "hold_has_seconds",
                ~Q(phase="hold") | Q(seconds__gte=0),
                "A hold reading needs the seconds since the supply was closed.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.phase} {self.stimulus} {self.travel_mm}"
