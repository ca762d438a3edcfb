"""Measurement studies: the same parts read by several technicians several times."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.instrument import Instrument
from checks.models.specification import SpecificationRevision
from fleet.models import Depot, Turbocharger, User
from fleet.models.constraints import only_one, rule


class Study(models.Model):
    """A crossed study at one depot with one set of instruments: every technician reads every part ``trials`` times.

    All parts are of the model of ``specification``, read at its setting; its window is what shares are taken of.
    ``seed`` made the order of the readings. How far a study is follows from its readings and publications.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="studies")
    name = models.CharField(max_length=80)
    specification = models.ForeignKey(SpecificationRevision, on_delete=models.PROTECT, related_name="studies")
    dial = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    stimulus_instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    meter = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    trials = models.PositiveSmallIntegerField()
    length_unit = models.CharField(max_length=4, choices=User.Length, default=User.Length.MM)
    seed = models.PositiveBigIntegerField()
    note = models.TextField(blank=True)
    planned_for = models.DateField()
    planned_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    planned_at = models.DateTimeField(auto_now_add=True)
    set_aside_at = models.DateTimeField(null=True, blank=True)
    set_aside_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    set_aside_reason = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "studies"
        ordering = ["-planned_for", "-id"]
        constraints = [
            only_one("study_name_once", ("depot", "name"), "This depot already has a study of that name."),
            rule("study_name_given", ~Q(name=""), "Give the study a name."),
            rule("study_trials_plausible", Q(trials__gte=2, trials__lte=10), "A study has 2 to 10 trials."),
            rule(
                "study_set_aside_with_reason",
                Q(set_aside_at__isnull=True, set_aside_by__isnull=True, set_aside_reason="")
                | (Q(set_aside_at__isnull=False, set_aside_by__isnull=False) & ~Q(set_aside_reason="")),
                "Say who sets the study aside and why.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class StudyPart(models.Model):
    """One part: a turbocharger of the register, or a bench unit that keeps its name at whichever depot it is read."""

    study = models.ForeignKey(Study, on_delete=models.CASCADE, related_name="parts")
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    turbocharger = models.ForeignKey(
        Turbocharger, on_delete=models.PROTECT, null=True, blank=True, related_name="study_parts"
    )

    class Meta:
        ordering = ["study", "number"]
        constraints = [
            only_one("one_study_part_per_number", ("study", "number"), "Two parts have the same number."),
            only_one("one_study_part_per_name", ("study", "name"), "A study reads each part under one name."),
            only_one("one_study_part_per_unit", ("study", "turbocharger"), "A study holds each unit once."),
            rule("study_part_named", ~Q(name=""), "Name the part."),
        ]

    def __str__(self) -> str:
        return self.name


class StudyReading(models.Model):
    """One place in the order: who reads which part, and the travel at the setting once it was read.

    ``travel_mm`` stands beside what was typed; all are empty until then.
    """

    study = models.ForeignKey(Study, on_delete=models.CASCADE, related_name="readings")
    place = models.PositiveSmallIntegerField()
    part = models.ForeignKey(StudyPart, on_delete=models.PROTECT, related_name="readings")
    technician = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="study_readings")
    trial = models.PositiveSmallIntegerField()
    travel_mm = models.FloatField(null=True, blank=True)
    typed = models.CharField(max_length=24, blank=True)
    unit = models.CharField(max_length=8, blank=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    entered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["study", "place"]
        constraints = [
            only_one("one_study_reading_per_place", ("study", "place"), "Two readings claim the same place."),
            only_one(
                "one_study_reading_per_cell",
                ("study", "part", "technician", "trial"),
                "This technician's trial of this part is in the order already.",
            ),
            rule("study_reading_counts_from_1", Q(place__gte=1, trial__gte=1), "Places and trials count from 1."),
            rule(
                "study_reading_whole",
                Q(travel_mm__isnull=True, typed="", unit="", entered_by__isnull=True, entered_at__isnull=True)
                | (
                    Q(travel_mm__isnull=False, entered_by__isnull=False, entered_at__isnull=False)
                    & ~Q(typed="")
                    & ~Q(unit="")
                ),
                "A reading has its travel, the text typed, its unit, who entered it and when.",
            ),
            rule(
                "study_reading_plausible",
                Q(travel_mm__isnull=True) | Q(travel_mm__gte=0, travel_mm__lte=100),
                "A travel lies between 0 and 100 mm.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.typed} {self.unit}" if self.typed else f"{self.place}: not read yet"


class StudyAmendment(models.Model):
    """A correction of a reading that was entered: what was, what is (empty: it was not made), who says so and why."""

    reading = models.ForeignKey(StudyReading, on_delete=models.CASCADE, related_name="amendments")
    old_value = models.CharField(max_length=40)
    new_value = models.CharField(max_length=40, blank=True)
    reason = models.TextField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [rule("study_amendment_has_reason", ~Q(reason=""), "Say why the reading is amended.")]

    def __str__(self) -> str:
        return f"{self.old_value} to {self.new_value or 'not made'}"
