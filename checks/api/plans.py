"""Days in the bay for programs."""

from typing import Any

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import generics, serializers

from checks.api.person import person_of
from checks.models import BayPlace
from checks.services.bay import move_check
from fleet.api.base import Action
from fleet.api.strict import Entry
from fleet.models import Turbocharger
from fleet.selectors.scope import visible_to
from fleet.web.access import MANAGER, RolePermission
from fleet.web.filtering import Filters
from fleet.web.pagination import ApiPagination


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
        return visible_to(person_of(self.request), rows)


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
