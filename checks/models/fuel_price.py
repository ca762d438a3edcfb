"""What fuel costs, as it was typed."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from fleet.models import Depot
from fleet.models.constraints import only_one, rule


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
