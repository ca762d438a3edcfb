"""Specifications for programs; the service reads every entry. Values in kPa or %, and mm."""

from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.person import person_of
from checks.api.submission import QuantitySerializer
from checks.models import SpecificationRevision
from checks.services.specification import add_specification
from fleet.api.strict import object_sent
from fleet.models import Membership, TurbochargerModel
from fleet.problems import FleetError
from fleet.web.access import RolePermission
from fleet.web.filtering import Filters
from fleet.web.idempotency import answered_once


class SpecificationSerializer(serializers.ModelSerializer[SpecificationRevision]):
    """A revision in stored units, with what was typed."""

    model = serializers.CharField(source="turbocharger_model.name", read_only=True)
    stimulus = serializers.CharField(source="turbocharger_model.stimulus", read_only=True)

    class Meta:
        model = SpecificationRevision
        fields = [
            "id", "turbocharger_model", "model", "stimulus", "revision", "setting", "stimulus_max",
            "capture_tolerance", "lower_mm", "nominal_mm", "upper_mm", "zero_tolerance_stimulus",
            "zero_tolerance_mm", "exercise_cycles", "thread_pitch_mm", "adjustment_sign",
            "adjustment_range_half_turns", "source_document", "source_revision", "effective_from", "effective_to",
            "note", "typed", "made_at",
        ]  # fmt: skip


class SpecificationEntrySerializer(serializers.Serializer[Any]):
    """A new revision; quantities as typed. ``confirmed`` takes values that look mistaken."""

    turbocharger_model = serializers.IntegerField()
    revision = serializers.CharField()
    source_document = serializers.CharField()
    source_revision = serializers.CharField(required=False, allow_blank=True)
    effective_from = serializers.DateField()
    note = serializers.CharField(required=False, allow_blank=True)
    setting = QuantitySerializer()
    stimulus_max = QuantitySerializer()
    capture_tolerance = QuantitySerializer()
    lower_mm = QuantitySerializer()
    nominal_mm = QuantitySerializer()
    upper_mm = QuantitySerializer()
    zero_tolerance_stimulus = QuantitySerializer()
    zero_tolerance_mm = QuantitySerializer()
    exercise_cycles = serializers.IntegerField()
    thread_pitch_mm = QuantitySerializer(required=False)
    adjustment_sign = serializers.ChoiceField(choices=[1, -1])
    adjustment_range_half_turns = serializers.IntegerField()
    confirmed = serializers.BooleanField(required=False)


class SpecificationFilter(Filters):
    """Which revisions are asked for."""

    class Meta:
        model = SpecificationRevision
        fields = ["turbocharger_model"]


class SpecificationList(generics.ListAPIView[SpecificationRevision]):
    """Every revision; a manager adds one. Correcting and ending are done in the pages."""

    permission_classes = [RolePermission]
    scope = "specifications"
    role_to_write = Membership.Role.MANAGER
    serializer_class = SpecificationSerializer
    filterset_class = SpecificationFilter
    queryset = SpecificationRevision.objects.select_related("turbocharger_model")

    @extend_schema(request=SpecificationEntrySerializer, responses={201: SpecificationSerializer})
    def post(self, request: Request) -> Response:
        """Add a revision."""
        entry = object_sent(request, SpecificationEntrySerializer)
        return answered_once(request, lambda: self.added(entry))

    def added(self, entry: dict[str, Any]) -> Response:
        """Add the revision that the entry describes."""
        model = _found(TurbochargerModel.objects.all(), entry.get("turbocharger_model"), "turbocharger_model")
        row = add_specification(author=person_of(self.request), turbocharger_model=model, entry=entry)
        where = reverse("api-specification", args=[row.pk])
        return Response(SpecificationSerializer(row).data, status=201, headers={"Location": where})


class SpecificationDetail(generics.RetrieveAPIView[SpecificationRevision]):
    """One revision."""

    permission_classes = [RolePermission]
    scope = "specifications"
    serializer_class = SpecificationSerializer
    queryset = SpecificationRevision.objects.select_related("turbocharger_model")


def _found(rows: QuerySet[Any], key: Any, field: str) -> Any:
    try:
        return get_object_or_404(rows, pk=key)
    except (Http404, ValueError, TypeError, OverflowError) as error:
        raise FleetError("not_found", field, f"There is no row with the key {str(key)[:20]!r}.") from error
