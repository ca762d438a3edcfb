"""What programs receive of the register. Distances in km, times in UTC."""

from rest_framework import serializers

from fleet.models import (
    Depot,
    Engine,
    Fitment,
    Installation,
    MeterReading,
    Note,
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
