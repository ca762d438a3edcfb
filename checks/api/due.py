"""Due dates for programs: when to look at a unit again, by which rule, and why."""

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from rest_framework import generics, serializers

from checks.api.person import person_of
from checks.models import Standing
from fleet.selectors.scope import visible_to
from fleet.web.access import RolePermission
from fleet.web.filtering import Filters
from fleet.web.pagination import ApiPagination


class DueSerializer(serializers.ModelSerializer[Standing]):
    """When to look at a unit again, by which rule, and why."""

    serial = serializers.CharField(source="turbocharger.serial")
    depot = serializers.CharField(source="turbocharger.depot.code")

    class Meta:
        model = Standing
        fields = [
            "turbocharger", "serial", "depot", "state", "due_on", "due_odometer_km", "binding_rule", "sentence",
            "rules",
        ]  # fmt: skip


class DueFilter(Filters):
    """Which due dates are asked for."""

    until = filters.DateFilter(field_name="due_on", lookup_expr="lte")
    depot = filters.CharFilter(field_name="turbocharger__depot__code")
    rule = filters.CharFilter(field_name="binding_rule")

    class Meta:
        model = Standing
        fields = ["until", "depot", "rule"]


class SoonestFirst(ApiPagination):
    """Due dates, the soonest first."""

    ordering = ("due_on", "pk")  # type: ignore[assignment]


class DueList(generics.ListAPIView[Standing]):
    """What to look at next at one's depots, and why."""

    queryset = Standing.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "plans"
    serializer_class = DueSerializer
    pagination_class = SoonestFirst
    filterset_class = DueFilter

    def get_queryset(self) -> QuerySet[Standing]:
        rows = Standing.objects.filter(due_on__isnull=False).select_related("turbocharger__depot")
        return visible_to(person_of(self.request), rows, depot="turbocharger__depot")
