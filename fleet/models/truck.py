"""Trucks, engines, and which engine sat in which truck from when to when."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models.constraints import only_one, rule
from fleet.models.depot import Depot


class Truck(models.Model):
    """A truck, found by its unit number.

    ``check_digit`` says whether the VIN must carry the check digit of 49 CFR 565.15: vehicles not sold in
    North America need not.
    """

    class CheckDigit(models.TextChoices):
        REQUIRED = "required", "carries a check digit"
        NOT_USED = "not_used", "its market uses none"

    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="trucks")
    unit_number = models.CharField(max_length=24, unique=True)
    vin = models.CharField("VIN", max_length=17, blank=True)
    check_digit = models.CharField("VIN check digit", max_length=10, choices=CheckDigit, default=CheckDigit.REQUIRED)
    description = models.CharField(max_length=120, blank=True)
    in_service_on = models.DateField("in service from")
    retired_on = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["unit_number"]
        constraints = [
            only_one("vin_once", ("vin",), "Another truck already has this VIN.", condition=~Q(vin="")),
            rule("unit_number_given", ~Q(unit_number=""), "Give the truck its unit number."),
            rule(
                "truck_retired_after_service",
                Q(retired_on__isnull=True) | Q(retired_on__gte=F("in_service_on")),
                "A truck cannot retire before it went into service.",
            ),
        ]

    def __str__(self) -> str:
        return self.unit_number


class Engine(models.Model):
    """An engine. ``layout`` says how many turbochargers it carries and so which positions exist."""

    class Layout(models.TextChoices):
        SINGLE = "single", "one turbocharger"
        TWIN = "twin", "two turbochargers"

    serial = models.CharField("serial number", max_length=40, unique=True)
    model = models.CharField(max_length=60)
    layout = models.CharField(max_length=8, choices=Layout, default=Layout.SINGLE)
    depot = models.ForeignKey(
        Depot, on_delete=models.PROTECT, related_name="engines", help_text="Follows the truck while installed."
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["serial"]
        constraints = [rule("engine_serial_given", ~Q(serial=""), "Give the engine its serial number.")]

    def __str__(self) -> str:
        return f"{self.model} {self.serial}"


class Installation(models.Model):
    """An engine in a truck, from one date to another."""

    engine = models.ForeignKey(Engine, on_delete=models.PROTECT, related_name="installations")
    truck = models.ForeignKey(Truck, on_delete=models.PROTECT, related_name="installations")
    installed_on = models.DateField()
    removed_on = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-installed_on"]
        constraints = [
            only_one(
                "engine_in_one_truck",
                ("engine",),
                "This engine already sits in a truck. Record its removal first.",
                condition=Q(removed_on__isnull=True),
            ),
            only_one(
                "truck_has_one_engine",
                ("truck",),
                "This truck already has an engine. Record its removal first.",
                condition=Q(removed_on__isnull=True),
            ),
            rule(
                "engine_removed_after_installed",
                Q(removed_on__isnull=True) | Q(removed_on__gte=F("installed_on")),
                "The engine cannot leave the truck before it went in.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.engine} in {self.truck}"
