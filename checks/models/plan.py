"""Policy, the planned next look at each unit, and where each unit stands."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from checks.models.assessment import Assessment
from checks.models.check import Check
from checks.models.forecast import Basis
from fleet.models import Turbocharger
from fleet.models.constraints import rule


class Policy(models.Model):
    """The fleet's one policy row: levels, and how long a unit may go unseen.

    ``typed``: field name to [text, unit].
    """

    inside_level = models.FloatField("probability asked for 'inside'", default=0.95)
    first_look_km = models.FloatField("first look after fitting, km", default=80_000)
    first_look_days = models.PositiveIntegerField("first look after fitting, days", default=365)
    calendar_max_days = models.PositiveIntegerField("longest time between checks, days", default=365)
    usage_max_km = models.FloatField("longest run between checks, km", default=120_000)
    after_adjustment_days = models.PositiveIntegerField("look again after an adjustment, days", default=60)
    after_adjustment_km = models.FloatField("look again after an adjustment, km", default=20_000)
    undecided_days = models.PositiveIntegerField("repeat an undecided check within, days", default=14)
    void_days = models.PositiveIntegerField("repeat a void check within, days", default=7)
    outside_days = models.PositiveIntegerField("mend a unit left outside within, days", default=3)
    complaint_days = models.PositiveIntegerField("answer an open complaint within, days", default=14)
    risk_level = models.FloatField("look again when the chance of being outside reaches", default=0.05)
    risk_min_days = models.PositiveIntegerField("shortest time between checks that risk may ask for, days", default=30)
    horizon_days = models.PositiveIntegerField("look ahead for units about to leave, days", default=90)
    leaving_level = models.FloatField("chance of being outside within that time that counts as leaving", default=0.5)
    target_outside = models.FloatField("share found outside at scheduled checks that is aimed at", default=0.05)
    usage_basis = models.CharField("drift is counted in", max_length=5, choices=Basis, default=Basis.KM)
    fallback_km_per_day = models.FloatField("rate of use where a truck's own is unknown, km per day", default=350)
    typed = models.JSONField(default=dict, blank=True)
    history = HistoricalRecords()

    class Meta:
        verbose_name_plural = "policies"
        constraints = [
            rule("one_policy_row", Q(id=1), "There is one policy; change it instead of adding another."),
            rule(
                "inside_level_plausible",
                Q(inside_level__gt=0.5) & Q(inside_level__lt=1),
                "The probability asked for lies above 0.5 and below 1.",
            ),
            rule(
                "policy_usage_positive",
                Q(first_look_km__gt=0, usage_max_km__gt=0, after_adjustment_km__gt=0, fallback_km_per_day__gt=0),
                "Distances and rates must be above zero.",
            ),
            rule(
                "policy_chances_plausible",
                Q(risk_level__gt=0, risk_level__lt=0.5, target_outside__gt=0, target_outside__lt=0.5)
                & Q(leaving_level__gt=F("risk_level"), leaving_level__lt=1),
                "Risk level and target lie above 0 and below 0.5; 'leaving' needs more chance than the risk level.",
            ),
            rule(
                "policy_days_positive",
                Q(
                    first_look_days__gt=0,
                    risk_min_days__gt=0,
                    horizon_days__gt=0,
                    calendar_max_days__gt=0,
                    after_adjustment_days__gt=0,
                    undecided_days__gt=0,
                    void_days__gt=0,
                    outside_days__gt=0,
                    complaint_days__gt=0,
                ),
                "Every number of days must be at least 1.",
            ),
        ]

    def __str__(self) -> str:
        return "Policy"


class Standing(models.Model):
    """Where a turbocharger stands, derived from its checks and plan; one row each, rebuilt at will.

    ``shown`` is the assessment that tells the present setting: as-left where there is one, else as-found.
    'overdue' is not stored: it is ``due_on`` before today.
    """

    class State(models.TextChoices):
        NEVER = "never_checked", "never checked"
        INSIDE = "inside", "inside"
        OUTSIDE_LOW = "outside_low", "outside low"
        OUTSIDE_HIGH = "outside_high", "outside high"
        UNDECIDED = "undecided", "undecided"
        VOID = "void", "void"

    turbocharger = models.OneToOneField(Turbocharger, on_delete=models.CASCADE, related_name="standing")
    state = models.CharField(max_length=14, choices=State, default=State.NEVER)
    last_check = models.ForeignKey(Check, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    shown = models.ForeignKey(Assessment, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    due_on = models.DateField(null=True, blank=True)
    due_odometer_km = models.FloatField(null=True, blank=True)
    leaving = models.BooleanField(default=False)
    leaves_on = models.DateField(null=True, blank=True, help_text="When the chance of being outside reaches 'leaving'.")
    p_outside_now = models.FloatField(null=True, blank=True)
    binding_rule = models.CharField(max_length=30, blank=True)
    sentence = models.TextField(blank=True)
    rules = models.JSONField(default=list, help_text="Every rule that fired, with its inputs.")
    derived_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["due_on", "id"]
        indexes = [
            # The board counts by state and sorts by due date.
            models.Index(fields=["state", "due_on"], name="standing_by_state_and_due"),
            models.Index(fields=["due_on"], name="standing_by_due"),
            # The board's order by chance outside.
            models.Index(fields=["-p_outside_now"], name="standing_by_chance"),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger}: {self.get_state_display()}"
