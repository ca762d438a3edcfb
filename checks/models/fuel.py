"""Truck-month moments of trips, the fuel fit and what follows for months and units: derived, rebuilt at will with the
same bits. Prices are typed.

Long because a month, the fit over them and what follows for each unit are read together.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from fleet.models import Depot, Truck, Turbocharger, TurbochargerModel
from fleet.models.constraints import only_one, rule


class TruckMonth(models.Model):
    """Moments of one truck's trips in one calendar month (UTC), about the fixed reference of the rules.

    ``moments`` is little-endian float64: the p weighted sums, then the p by p weighted cross products row by row.
    ``columns`` names what they are of, so that a cell of an older kind is told apart.
    """

    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="months", db_index=False)
    month = models.IntegerField(help_text="12 * year + month - 1.")
    rows = models.PositiveIntegerField()
    weight_km = models.FloatField()
    litres = models.FloatField()
    columns = models.CharField(max_length=120)
    moments = models.BinaryField()

    class Meta:
        ordering = ["truck", "month"]
        constraints = [
            only_one("truck_month_once", ("truck", "month"), "This truck-month is formed already."),
            rule("truck_month_has_trips", Q(rows__gt=0, weight_km__gt=0, litres__gt=0), "A truck-month has trips."),
        ]

    def __str__(self) -> str:
        return f"truck {self.truck_id}, {self.month // 12}-{self.month % 12 + 1:02d}"


class FuelPrice(models.Model):
    """What a litre of fuel costs at a depot, or in the whole fleet, from a day on. ``typed``: [text, unit]."""

    depot = models.ForeignKey(
        Depot, on_delete=models.PROTECT, null=True, blank=True, related_name="fuel_prices",
        help_text="Empty for every depot without a price of its own.",
    )  # fmt: skip
    valid_from = models.DateField("valid from")
    per_litre = models.DecimalField("price per litre", max_digits=9, decimal_places=4)
    currency = models.CharField(max_length=3, help_text="Three letters of ISO 4217, such as EUR.")
    typed = models.JSONField(default=dict, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["-valid_from", "id"]
        constraints = [
            only_one(
                "fuel_price_once_per_depot",
                ("depot", "valid_from"),
                "This depot already has a price from that day. Amend that one.",
                condition=Q(depot__isnull=False),
            ),
            only_one(
                "fuel_price_once_per_fleet",
                ("valid_from",),
                "The fleet already has a price from that day. Amend that one.",
                condition=Q(depot__isnull=True),
            ),
            rule("fuel_price_positive", Q(per_litre__gt=0), "A price is above zero."),
            rule(
                "fuel_price_currency",
                Q(currency__regex=r"^[A-Z]{3}$"),
                "Give the currency as three capital letters, such as EUR.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.depot or 'whole fleet'}: {self.per_litre} {self.currency} per litre from {self.valid_from}"


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


class FuelLoss(models.Model):
    """What one turbocharger out of its window costs in fuel; one row each, rebuilt at will.

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
