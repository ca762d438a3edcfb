"""Specifications with revisions: what a model's wastegate should do, and the document that says so."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models import TurbochargerModel
from fleet.models.constraints import only_one, rule


class SpecificationRevision(models.Model):
    """One revision for one turbocharger model. Never edited once a check was judged by it: revise instead.

    Stimulus values are kPa (gauge) for pneumatic and % for electric actuators, as the model's actuator says;
    lengths are mm. ``typed`` keeps what the author typed: field name to [text, unit].
    """

    turbocharger_model = models.ForeignKey(TurbochargerModel, on_delete=models.PROTECT, related_name="specifications")
    revision = models.CharField(max_length=20)
    setting = models.FloatField("setting stimulus")
    lower_mm = models.FloatField("lower limit")
    nominal_mm = models.FloatField("nominal")
    upper_mm = models.FloatField("upper limit")
    stimulus_max = models.FloatField("canister maximum")
    exercise_cycles = models.PositiveSmallIntegerField("required exercise cycles", default=3)
    capture_tolerance = models.FloatField("capture tolerance")
    zero_tolerance_stimulus = models.FloatField("zero tolerance, stimulus")
    zero_tolerance_mm = models.FloatField("zero tolerance, travel")
    thread_pitch_mm = models.FloatField("thread pitch", null=True, blank=True)
    adjustment_sign = models.SmallIntegerField(
        default=1, choices=[(1, "a longer rod gives more travel"), (-1, "a longer rod gives less travel")]
    )
    adjustment_range_half_turns = models.PositiveSmallIntegerField("adjustment range, half turns", default=6)
    source_document = models.CharField(max_length=120)
    source_revision = models.CharField(max_length=40, blank=True)
    effective_from = models.DateField()
    effective_to = models.DateField(null=True, blank=True)
    typed = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["turbocharger_model__name", "-effective_from", "-id"]
        constraints = [
            only_one(
                "revision_once_per_model",
                ("turbocharger_model", "revision"),
                "This model already has a revision of that name.",
            ),
            only_one(
                "one_revision_per_day",
                ("turbocharger_model", "effective_from"),
                "Another revision of this model takes effect on the same day.",
            ),
            rule(
                "limits_in_order",
                Q(lower_mm__gte=0) & Q(lower_mm__lt=F("nominal_mm")) & Q(nominal_mm__lt=F("upper_mm")),
                "Limits must rise: lower limit, nominal, upper limit, none below zero.",
            ),
            rule("limits_plausible", Q(upper_mm__lte=100), "The upper limit may be at most 100 mm."),
            # An electric actuator may be judged at the end of its travel; of pressures the service asks for less.
            rule(
                "setting_below_maximum",
                Q(setting__gt=0) & Q(setting__lte=F("stimulus_max")) & Q(stimulus_max__lte=2000),
                "The setting must be above zero and not above the highest permitted (itself at most 2,000 kPa).",
            ),
            rule(
                "capture_tolerance_plausible",
                Q(capture_tolerance__gt=0) & Q(capture_tolerance__lte=F("setting") * 0.1),
                "The capture tolerance must be above zero and at most a tenth of the setting.",
            ),
            rule(
                "zero_tolerances_positive",
                Q(zero_tolerance_stimulus__gt=0) & Q(zero_tolerance_mm__gt=0),
                "Zero tolerances must be above zero.",
            ),
            rule("exercise_cycles_plausible", Q(exercise_cycles__lte=10), "At most 10 exercise cycles."),
            rule(
                "thread_pitch_plausible",
                Q(thread_pitch_mm__isnull=True) | Q(thread_pitch_mm__gt=0, thread_pitch_mm__lte=5),
                "A thread pitch lies above 0 and up to 5 mm.",
            ),
            rule("adjustment_sign_known", Q(adjustment_sign__in=[-1, 1]), "Say what a longer rod does to the travel."),
            rule(
                "effective_dates_in_order",
                Q(effective_to__isnull=True) | Q(effective_to__gte=F("effective_from")),
                "A revision cannot end before it takes effect.",
            ),
            rule("source_document_given", ~Q(source_document=""), "Name the document these values come from."),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger_model} revision {self.revision}"
