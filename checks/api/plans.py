"""Forecasts and days in the bay for programs."""

from typing import Any, cast

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import generics, serializers

from checks.models import BayPlace, Forecast
from checks.services.bay import move_check
from fleet.api.base import Action
from fleet.api.strict import Entry
from fleet.models import Turbocharger, User
from fleet.selectors.scope import visible_to
from fleet.web.access import MANAGER, RolePermission
from fleet.web.filtering import ByKey, Filters
from fleet.web.pagination import ApiPagination


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
        return _forecasts(self.request.user)


class ForecastDetail(generics.RetrieveAPIView[Forecast]):
    """The forecast of one turbocharger."""

    queryset = Forecast.objects.none()
    permission_classes = [RolePermission]
    scope = "plans"
    serializer_class = ForecastDetailShape
    lookup_field = "turbocharger"

    def get_queryset(self) -> QuerySet[Forecast]:
        return _forecasts(self.request.user)


class PlanShape(serializers.ModelSerializer[BayPlace]):
    """The day on which a due check is to be made."""

    serial = serializers.CharField(source="turbocharger.serial", read_only=True)
    depot = serializers.CharField(source="depot.code", read_only=True)
    by_hand = serializers.SerializerMethodField(help_text="A person chose the day.")

    class Meta:
        model = BayPlace
        fields = [
            "turbocharger", "serial", "depot", "day", "due_on", "latest_on", "added_risk", "by_hand", "moved_reason",
            "made_at",
        ]  # fmt: skip

    def get_by_hand(self, place: BayPlace) -> bool:
        """Whether levelling leaves it alone."""
        return place.moved_by_id is not None


class PlanFilter(Filters):
    """Which days are asked for."""

    depot = filters.CharFilter(field_name="depot__code", help_text="Short name of the depot.")
    since = filters.DateFilter(field_name="day", lookup_expr="gte")
    until = filters.DateFilter(field_name="day", lookup_expr="lte")

    class Meta:
        model = BayPlace
        fields = ["depot", "since", "until"]


class EarliestFirst(ApiPagination):
    """Days in the bay in their order."""

    ordering = ("day", "pk")  # type: ignore[assignment]


class Plans(generics.ListAPIView[BayPlace]):
    """Days in the bays of one's depots."""

    queryset = BayPlace.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "plans"
    serializer_class = PlanShape
    pagination_class = EarliestFirst
    filterset_class = PlanFilter

    def get_queryset(self) -> QuerySet[BayPlace]:
        rows = BayPlace.objects.select_related("turbocharger", "depot")
        return visible_to(cast(User, self.request.user), rows)


class MoveEntry(Entry):
    """The day that a person chose."""

    day = serializers.DateField()
    reason = serializers.CharField(
        max_length=200, required=False, allow_blank=True, help_text="Needed past the last day that a rule allows."
    )


@extend_schema_view(post=extend_schema(request=MoveEntry, responses=PlanShape))
class MoveCheck(Action):
    """Put a due check on another day."""

    role_to_write = MANAGER
    scope = "plans"
    rows: QuerySet[Turbocharger] = Turbocharger.objects.select_related("depot", "standing")
    entry_class, shape_class = MoveEntry, PlanShape

    def do(self, user: Any, row: Turbocharger, typed: dict[str, Any]) -> BayPlace:
        return move_check(user=user, turbocharger=row, **typed)


def _forecasts(user: Any) -> QuerySet[Forecast]:
    rows = Forecast.objects.select_related("turbocharger__depot", "fit")
    return visible_to(cast(User, user), rows, depot="turbocharger__depot")
