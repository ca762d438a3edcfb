"""Drift fits per turbocharger model and the forecast of each unit: derived, kept with what they were derived from."""

from django.db import models
from django.db.models import F, Q

from checks.models.check import Check
from fleet.models import Turbocharger, TurbochargerModel
from fleet.models.constraints import only_one, rule


class Basis(models.TextChoices):
    """What drift is counted in."""

    KM = "km", "km"
    HOURS = "hours", "engine hours"


class DriftFit(models.Model):
    """One fit of one model's readings. The current one counts; older ones stay for comparison.

    Usage is scaled: 100,000 km or 2,000 h is one. ``estimates``: theta, beta, cov as lists; ``diagnostics`` as the
    fit reports them; ``left_out``: readings not used, each with the reason; ``inputs``: digest of what was fitted.
    """

    class Route(models.TextChoices):
        OWN = "own", "from its own units"
        POOLED = "pooled", "pooled with the fleet's other models"

    turbocharger_model = models.ForeignKey(TurbochargerModel, on_delete=models.CASCADE, related_name="drift_fits")
    basis = models.CharField(max_length=5, choices=Basis, default=Basis.KM)
    route = models.CharField(max_length=6, choices=Route)
    is_current = models.BooleanField(default=True)
    units = models.PositiveIntegerField()
    readings = models.PositiveIntegerField()
    estimates = models.JSONField()
    diagnostics = models.JSONField()
    left_out = models.JSONField(default=list, blank=True)
    inputs = models.CharField(max_length=64)
    code_version = models.CharField(max_length=20)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            only_one(
                "one_current_fit",
                ("turbocharger_model",),
                "This model already has a current drift fit.",
                condition=Q(is_current=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger_model}, {self.readings} readings"


class Forecast(models.Model):
    """What the fit says of one unit from its present epoch on; one row each, rebuilt at will.

    ``usage_*`` are since the epoch's start, in the basis' own unit (km or h). ``path`` is the fan to draw: rows of
    [usage since the epoch's start, mean, 2.5 %, 25 %, 75 %, 97.5 %, chance outside]. ``innovations`` are rows of
    [check id, moment, standardised innovation, jump or not, EWMA, its limit]. ``due_usage`` is where the chance of
    being outside reaches ``level``, null where it does not within sight.
    """

    class Setting(models.TextChoices):
        PLANT = "plant", "plant setting"
        WORKSHOP = "workshop", "workshop setting"

    turbocharger = models.OneToOneField(Turbocharger, on_delete=models.CASCADE, related_name="forecast")
    fit = models.ForeignKey(DriftFit, on_delete=models.CASCADE, related_name="forecasts")
    last_check = models.ForeignKey(Check, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    setting = models.CharField(max_length=8, choices=Setting)
    epoch_began_on = models.DateField()
    epoch_began_usage = models.FloatField(null=True, blank=True, help_text="Meter reading then, in the basis' unit.")
    usage_now = models.FloatField()
    readings = models.PositiveSmallIntegerField()
    travel_now_mm = models.FloatField()
    travel_now_sd_mm = models.FloatField()
    drift_mm = models.FloatField(help_text="Per 100,000 km or 2,000 h.")
    drift_u_mm = models.FloatField()
    p_below_now = models.FloatField()
    p_above_now = models.FloatField()
    level = models.FloatField()
    due_usage = models.FloatField(null=True, blank=True)
    p_outside_at_horizon = models.FloatField()
    jumped = models.BooleanField(default=False)
    path = models.JSONField()
    innovations = models.JSONField(default=list)
    derived_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["turbocharger"]
        indexes = [
            # The board names the few units that jumped, at every look.
            models.Index(fields=["turbocharger"], name="forecasts_that_jumped", condition=Q(jumped=True)),
        ]
        constraints = [
            rule(
                "forecast_probabilities",
                Q(p_below_now__gte=0, p_below_now__lte=1, p_above_now__gte=0, p_above_now__lte=1)
                & Q(p_outside_at_horizon__gte=0, p_outside_at_horizon__lte=1),
                "Probabilities lie between 0 and 1.",
            ),
            rule(
                "forecast_spread_positive",
                Q(travel_now_sd_mm__gt=0) & Q(drift_u_mm__gte=0),
                "A forecast needs its uncertainty.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger}: {self.travel_now_mm:.3f} mm"

    @property
    def p_outside_now(self) -> float:
        return min(1.0, self.p_below_now + self.p_above_now)


class BayPlace(models.Model):
    """A due check's day in its depot's bay. ``moved_by`` is set where a person chose the day: levelling keeps it."""

    turbocharger = models.OneToOneField(Turbocharger, on_delete=models.CASCADE, related_name="bay_place")
    depot = models.ForeignKey("fleet.Depot", on_delete=models.CASCADE, related_name="bay_places")
    day = models.DateField()
    due_on = models.DateField()
    latest_on = models.DateField(null=True, blank=True, help_text="Hard limit; empty where there is none.")
    added_risk = models.FloatField(default=0.0, help_text="Expected days outside the window that waiting adds.")
    moved_by = models.ForeignKey("fleet.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    moved_reason = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["day", "-added_risk", "id"]
        indexes = [
            # The week page reads one depot's days.
            models.Index(fields=["depot", "day"], name="bay_by_depot_and_day"),
        ]
        constraints = [
            rule(
                "placed_within_limit",
                Q(latest_on__isnull=True) | Q(day__lte=F("latest_on")) | Q(moved_by__isnull=False),
                "The day lies past the hard limit of this check.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger} on {self.day}"
