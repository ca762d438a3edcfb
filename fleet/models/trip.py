"""Trips as vehicles report them, the files they came in, and which truck-months they touched."""

import uuid
from datetime import UTC, datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fleet.models.constraints import only_one, rule
from fleet.models.job import Job
from fleet.models.truck import Truck


class TripSource(models.Model):
    """Where files of trips come from, and how they were understood the last time.

    ``manner`` holds delimiter, decimal sign, time zone, form of the times, and each column's heading and unit.
    """

    name = models.CharField(max_length=60, unique=True)
    manner = models.JSONField(default=dict)

    class Meta:
        ordering = ["name"]
        constraints = [rule("trip_source_named", ~Q(name=""), "Give the source of the trips a name.")]

    def __str__(self) -> str:
        return self.name


class TripImport(models.Model):
    """One file of trips on its way in, or one batch from a program; ``outcomes`` is only a batch's.

    The counts grow with each chunk, in the chunk's own transaction.
    """

    key = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    source = models.ForeignKey(TripSource, on_delete=models.PROTECT, related_name="imports")
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    size_bytes = models.PositiveBigIntegerField()
    manner = models.JSONField(help_text="As this file was understood.")
    job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    trial_job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    lines = models.PositiveBigIntegerField(default=0)
    accepted = models.PositiveBigIntegerField(default=0)
    refused = models.PositiveBigIntegerField(default=0)
    new = models.PositiveBigIntegerField(default=0)
    changed = models.PositiveBigIntegerField(default=0)
    outcomes = models.JSONField(null=True, blank=True, default=None, help_text="What a repeat of the batch is told.")
    sent_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-sent_at"]
        constraints = [
            rule(
                "trip_lines_add_up",
                Q(lines=F("accepted") + F("refused")),
                "Accepted and refused lines make up all lines.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Trip(models.Model):
    """One trip of a truck, known by truck and start. What its source does not record is empty.

    ``started_s`` counts seconds since 1970 in UTC: programs read and write millions of these, and no conversion is
    the fastest. ``odometer_km`` is the reading at the start.
    """

    pk = models.CompositePrimaryKey("truck", "started_s")
    # The primary key begins with the truck; an index of its own would say the same again. PostgreSQL would look every
    # trip's truck up on its own, for two thirds of an import's time: `write_trips` holds the trucks of a chunk at once.
    truck = models.ForeignKey(
        Truck, on_delete=models.CASCADE, related_name="trips", db_index=False, db_constraint=False
    )
    started_s = models.BigIntegerField()
    duration_s = models.FloatField()
    distance_km = models.FloatField()
    fuel_l = models.FloatField()
    payload_t = models.FloatField(null=True, blank=True)
    ascent_m = models.FloatField(null=True, blank=True)
    idle_s = models.FloatField(null=True, blank=True)
    temperature_c = models.FloatField(null=True, blank=True)
    odometer_km = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [
            rule(
                "trip_measures_positive",
                Q(duration_s__gt=0, distance_km__gt=0, fuel_l__gt=0),
                "A trip has a duration, a distance and fuel above zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"truck {self.truck_id} at {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def started_at(self) -> datetime:
        return datetime.fromtimestamp(self.started_s, UTC)


class StaleCell(models.Model):
    """A truck-month whose trips changed since its moments were formed; months count 12 * year + month - 1 in UTC."""

    truck = models.ForeignKey(Truck, on_delete=models.CASCADE, related_name="+")
    month = models.IntegerField()

    class Meta:
        constraints = [only_one("stale_cell_once", ("truck", "month"), "This truck-month is marked already.")]

    def __str__(self) -> str:
        return f"truck {self.truck_id}, {self.month // 12}-{self.month % 12 + 1:02d}"
