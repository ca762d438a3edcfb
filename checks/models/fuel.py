"""The fuel fit, and what it says of each truck-month: derived, rebuilt at will with the same bits."""

from django.db import models
from django.db.models import Q

from fleet.models import Truck, Turbocharger
from fleet.models.constraints import only_one


class FuelFit(models.Model):
    """One fit of fuel against travel over the whole fleet. The current one counts; older ones stay for comparison.

    ``estimates``: beta, cov (leave-one-truck-out), cov_cluster, dof and told by `checks.rules.fuel.TERMS`; null for
    what is not told. Its shortfall and excess are expected values over what the drift model does not know, which is
    the correction for attenuation; ``plain`` is the same fit with travel taken as known. ``groups``: the effects by
    model and by depot. ``picture``: binned adjusted fuel against the deviation from the window. ``inputs``: digest.
    """

    is_current = models.BooleanField(default=True)
    made_at = models.DateTimeField(auto_now_add=True)
    code_version = models.CharField(max_length=20)
    first_month = models.IntegerField(help_text="12 * year + month - 1.")
    last_month = models.IntegerField(help_text="12 * year + month - 1.")
    trucks = models.PositiveIntegerField()
    cells = models.PositiveIntegerField(help_text="Truck-months whose travel is known.")
    cells_unknown = models.PositiveIntegerField(default=0, help_text="Truck-months left out: travel unknown.")
    trips = models.PositiveBigIntegerField()
    weight_km = models.FloatField()
    columns = models.CharField(max_length=200)
    residual_variance = models.FloatField(help_text="Of log fuel, km weighted.")
    estimates = models.JSONField()
    plain = models.JSONField()
    groups = models.JSONField(default=list)
    picture = models.JSONField(default=dict)
    derived_from = models.JSONField(default=dict)
    inputs = models.CharField(max_length=64)

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            only_one(
                "one_current_fuel_fit",
                ("is_current",),
                "There is a current fuel fit already.",
                condition=Q(is_current=True),
            ),
        ]

    def __str__(self) -> str:
        return f"fuel fit of {self.trucks} trucks, {self.cells} truck-months"


class FuelMonth(models.Model):
    """Adjusted fuel use of one truck in one month, what its wastegate did, and what that cost; rebuilt at will.

    ``log_fuel`` is the logarithm of L/100 km at the reference trip, payload, ascent, speed, idling and air temperature
    taken out.
    Shortfall and excess are expected values over the positions of the truck, empty where travel is unknown; so are
    ``extra_litres``, also empty where the fit tells no effect. ``per_shortfall`` and ``per_excess``: litres per unit
    of each slope, by which sums over months get their limits. ``turbocharger`` is the one farthest out, or the first.
    """

    class Travel(models.IntegerChoices):
        UNKNOWN = -1, "unknown"
        INSIDE = 0, "inside"
        OUTSIDE_LOW = 1, "outside low"
        OUTSIDE_HIGH = 2, "outside high"

    fit = models.ForeignKey(FuelFit, on_delete=models.CASCADE, related_name="months")
    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="fuel_months", db_index=False)
    month = models.IntegerField(help_text="12 * year + month - 1.")
    litres = models.FloatField()
    km = models.FloatField()
    log_fuel = models.FloatField()
    standard_error = models.FloatField()
    travel = models.SmallIntegerField(choices=Travel)
    turbocharger = models.ForeignKey(
        Turbocharger, on_delete=models.SET_NULL, null=True, blank=True, related_name="+", db_index=False
    )
    shortfall_mm = models.FloatField(null=True, blank=True)
    excess_mm = models.FloatField(null=True, blank=True)
    extra_litres = models.FloatField(null=True, blank=True)
    extra_litres_se = models.FloatField(null=True, blank=True)
    per_shortfall = models.FloatField(default=0.0)
    per_excess = models.FloatField(default=0.0)
    cusum = models.FloatField(default=0.0, help_text="Thirst: sum of log fuel above the truck's own level.")
    thirsty = models.BooleanField(default=False)

    class Meta:
        ordering = ["truck", "month"]
        indexes = [
            # Costs and thirst of a month over the fleet.
            models.Index(fields=["month", "travel"], name="fuel_months_by_month"),
        ]
        constraints = [
            only_one("fuel_month_once", ("truck", "month"), "This truck-month is fitted already."),
        ]

    def __str__(self) -> str:
        return f"truck {self.truck_id}, {self.month // 12}-{self.month % 12 + 1:02d}"
