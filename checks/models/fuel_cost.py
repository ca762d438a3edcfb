"""What travel outside the window costs in fuel, by unit and in sums: derived, rebuilt at will with the same bits."""

from django.db import models

from checks.models.fuel import FuelFit
from fleet.models import Depot, Truck, Turbocharger, TurbochargerModel
from fleet.models.constraints import only_one


class FuelLoss(models.Model):
    """What one turbocharger outside its window costs in fuel; one row each, rebuilt at will.

    ``effect`` and ``effect_se``: log fuel of its truck in its last month, from shortfall and excess of that month;
    ``month`` is that month. Litres of the fleet's last month, of its last twelve and of all, each with its standard
    error, which holds that of the slopes and that of travel. Where a truck carries two, its litres are shared by how
    far each stands out. ``told`` is false where too few trucks tell the slope of its side: its numbers are then 0.
    Money is empty where no price is known.
    """

    fit = models.ForeignKey(FuelFit, on_delete=models.CASCADE, related_name="losses")
    turbocharger = models.OneToOneField(Turbocharger, on_delete=models.CASCADE, related_name="fuel_loss")
    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="+", db_index=False)
    month = models.IntegerField(help_text="12 * year + month - 1.")
    shortfall_mm = models.FloatField()
    excess_mm = models.FloatField()
    travel_sd_mm = models.FloatField(default=0.0, help_text="Standard deviation of the larger of the two.")
    effect = models.FloatField()
    effect_se = models.FloatField()
    dof = models.FloatField(help_text="Degrees of freedom of its limits.")
    litres_month = models.FloatField()
    litres_month_se = models.FloatField()
    litres_year = models.FloatField()
    litres_year_se = models.FloatField()
    litres_all = models.FloatField()
    litres_all_se = models.FloatField()
    told = models.BooleanField(default=True)
    money_month = models.FloatField(null=True, blank=True)
    money_year = models.FloatField(null=True, blank=True)
    money_all = models.FloatField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    thirsty = models.BooleanField(default=False)

    class Meta:
        verbose_name_plural = "fuel losses"
        ordering = ["-litres_year", "id"]
        indexes = [
            # The ranking by period.
            models.Index(fields=["-litres_month", "id"], name="fuel_loss_by_month"),
            models.Index(fields=["-litres_year", "id"], name="fuel_loss_by_year"),
            models.Index(fields=["-litres_all", "id"], name="fuel_loss_by_all"),
            # The board's order.
            models.Index(fields=["-effect", "id"], name="fuel_loss_by_effect"),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger}: {self.litres_year:.0f} L in twelve months"


class FuelTotal(models.Model):
    """Fuel of a depot's trucks with one turbocharger model in one month, and what travel outside the window cost of it.

    ``per_shortfall`` and ``per_excess`` as in a truck's month; ``travel_variance``: variance of ``extra_litres`` from
    not knowing travel, trucks apart. ``outside``: trucks more likely outside than not. Trucks of ``turbocharger_model``
    null had no known unit.
    """

    fit = models.ForeignKey(FuelFit, on_delete=models.CASCADE, related_name="totals")
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="+", db_index=False)
    turbocharger_model = models.ForeignKey(
        TurbochargerModel, on_delete=models.CASCADE, null=True, blank=True, related_name="+", db_index=False
    )
    month = models.IntegerField(help_text="12 * year + month - 1.")
    trucks = models.PositiveIntegerField()
    unknown = models.PositiveIntegerField(help_text="Of these, trucks whose travel is unknown.")
    outside = models.PositiveIntegerField()
    km = models.FloatField()
    litres = models.FloatField()
    extra_litres = models.FloatField()
    per_shortfall = models.FloatField()
    per_excess = models.FloatField()
    travel_variance = models.FloatField()
    money = models.FloatField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)

    class Meta:
        ordering = ["month", "depot", "turbocharger_model"]
        constraints = [
            only_one(
                "fuel_total_once",
                ("depot", "turbocharger_model", "month"),
                "This total is made already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.depot}, {self.month // 12}-{self.month % 12 + 1:02d}"
