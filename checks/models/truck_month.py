"""Truck-month moments of trips: derived, rebuilt at will with the same bits."""

from django.db import models
from django.db.models import Q

from fleet.models import Truck
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
