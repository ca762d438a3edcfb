"""Forecasts of units for programs."""

from typing import Any

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema_field
from rest_framework import generics, serializers

from checks.api.person import person_of
from checks.models import Forecast
from fleet.models import User
from fleet.selectors.scope import visible_to
from fleet.web.access import RolePermission
from fleet.web.filtering import ByKey, Filters


class ForecastShape(serializers.ModelSerializer[Forecast]):
    """What is expected of one unit: travel in mm, use in km or in hours as ``basis`` says."""

    serial = serializers.CharField(source="turbocharger.serial", read_only=True)
    depot = serializers.CharField(source="turbocharger.depot.code", read_only=True)
    basis = serializers.CharField(source="fit.basis", read_only=True)
    p_outside_now = serializers.FloatField(read_only=True, help_text="Chance that it is outside its window now.")

    class Meta:
        model = Forecast
        fields = [
            "turbocharger", "serial", "depot", "basis", "setting", "epoch_began_on", "epoch_began_usage", "usage_now",
            "readings", "travel_now_mm", "travel_now_sd_mm", "drift_mm", "drift_u_mm", "p_below_now", "p_above_now",
            "p_outside_now", "level", "due_usage", "p_outside_at_horizon", "jumped", "last_check", "derived_at",
        ]  # fmt: skip


class FanRow(serializers.Serializer[Any]):
    """One place of the fan; use counts from the start of the epoch."""

    usage = serializers.FloatField()
    mean_mm = serializers.FloatField()
    low_95_mm = serializers.FloatField()
    low_50_mm = serializers.FloatField()
    high_50_mm = serializers.FloatField()
    high_95_mm = serializers.FloatField()
    p_outside = serializers.FloatField()


class ForecastDetailShape(ForecastShape):
    """The same with its fan."""

    fan = serializers.SerializerMethodField()

    class Meta(ForecastShape.Meta):
        fields = [*ForecastShape.Meta.fields, "fan"]

    @extend_schema_field(FanRow(many=True))
    def get_fan(self, forecast: Forecast) -> list[dict[str, float]]:
        """Travel ahead, with the intervals that hold half and 95 % of it."""
        names = list(FanRow().fields)
        return [dict(zip(names, row, strict=True)) for row in forecast.path]


class ForecastFilter(Filters):
    """Which forecasts are asked for."""

    depot = filters.CharFilter(field_name="turbocharger__depot__code", help_text="Short name of the depot.")
    model = ByKey(field_name="turbocharger__model_id", help_text="Id of the turbocharger model.")

    class Meta:
        model = Forecast
        fields = ["depot", "model", "setting", "jumped"]


class Forecasts(generics.ListAPIView[Forecast]):
    """Forecasts of the units at one's depots."""

    queryset = Forecast.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "plans"
    serializer_class: type[ForecastShape] = ForecastShape
    filterset_class = ForecastFilter

    def get_queryset(self) -> QuerySet[Forecast]:
        return _forecasts(person_of(self.request))


class ForecastDetail(generics.RetrieveAPIView[Forecast]):
    """The forecast of one turbocharger."""

    queryset = Forecast.objects.none()
    permission_classes = [RolePermission]
    scope = "plans"
    serializer_class = ForecastDetailShape
    lookup_field = "turbocharger"

    def get_queryset(self) -> QuerySet[Forecast]:
        return _forecasts(person_of(self.request))


def _forecasts(user: User) -> QuerySet[Forecast]:
    rows = Forecast.objects.select_related("turbocharger__depot", "fit")
    return visible_to(user, rows, depot="turbocharger__depot")
