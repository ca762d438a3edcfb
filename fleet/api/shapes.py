"""What programs receive of the register and of trips on record. Distances in km, times in UTC."""

from datetime import UTC, datetime
from typing import Any

from rest_framework import serializers

from fleet.models import (
    Depot,
    Engine,
    Fitment,
    Installation,
    MeterReading,
    Note,
    Trip,
    Truck,
    Turbocharger,
    TurbochargerModel,
)
from fleet.models.vin import word_for


class DepotShape(serializers.ModelSerializer[Depot]):
    class Meta:
        model = Depot
        fields = ["id", "code", "name", "time_zone", "checks_per_day", "working_days"]


class TruckShape(serializers.ModelSerializer[Truck]):
    vin_word = serializers.SerializerMethodField(help_text="How far the VIN was verified.")

    class Meta:
        model = Truck
        fields = [
            "id", "depot", "unit_number", "vin", "vin_word", "check_digit", "description", "in_service_on",
            "retired_on",
        ]  # fmt: skip

    def get_vin_word(self, truck: Truck) -> str:
        return word_for(truck.vin, check_digit_required=truck.check_digit == Truck.CheckDigit.REQUIRED).word


class EngineShape(serializers.ModelSerializer[Engine]):
    class Meta:
        model = Engine
        fields = ["id", "depot", "serial", "model", "layout"]


class InstallationShape(serializers.ModelSerializer[Installation]):
    class Meta:
        model = Installation
        fields = ["id", "engine", "truck", "installed_on", "removed_on"]


class ModelShape(serializers.ModelSerializer[TurbochargerModel]):
    class Meta:
        model = TurbochargerModel
        fields = ["id", "name", "stimulus", "note"]


class TurbochargerShape(serializers.ModelSerializer[Turbocharger]):
    model_name = serializers.CharField(source="model.name", read_only=True)

    class Meta:
        model = Turbocharger
        fields = [
            "id", "depot", "serial", "model", "model_name", "origin", "received_on", "scrapped_on", "safety_flag",
        ]  # fmt: skip


class FitmentShape(serializers.ModelSerializer[Fitment]):
    class Meta:
        model = Fitment
        fields = [
            "id", "turbocharger", "engine", "position", "fitted_on", "fitted_odometer_km", "fitted_engine_hours",
            "removed_on", "removed_odometer_km", "removed_engine_hours", "removal_reason",
        ]  # fmt: skip


class MeterReadingShape(serializers.ModelSerializer[MeterReading]):
    class Meta:
        model = MeterReading
        fields = [
            "id", "truck", "read_at", "odometer_km", "odometer_typed", "engine_hours", "replaced_meter", "source",
        ]  # fmt: skip


class NoteShape(serializers.ModelSerializer[Note]):
    author = serializers.CharField(source="author.username", read_only=True)

    class Meta:
        model = Note
        fields = ["id", "turbocharger", "author", "text", "made_at"]


class TripShape(serializers.ModelSerializer[Trip]):
    """A trip on record."""

    truck = serializers.IntegerField(source="truck_id")
    unit_number = serializers.CharField(source="truck.unit_number")
    start = serializers.SerializerMethodField()

    class Meta:
        model = Trip
        fields = [
            "truck", "unit_number", "start", "duration_s", "distance_km", "fuel_l", "payload_t", "ascent_m", "idle_s",
            "temperature_c", "odometer_km",
        ]  # fmt: skip

    def get_start(self, trip: Trip) -> datetime:
        return datetime.fromtimestamp(trip.started_s, UTC)


class TripPage(serializers.Serializer[Any]):
    """A page of trips, and the address of the next."""

    next = serializers.URLField(allow_null=True)
    results = TripShape(many=True)
