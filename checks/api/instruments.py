"""Instruments for programs; the service reads every entry. Values in stored units."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.person import person_of
from checks.api.submission import QuantitySerializer
from checks.models import Instrument
from checks.selectors.instrument import instruments_of, row_of
from checks.services.instrument import add_instrument
from fleet.api.strict import object_sent
from fleet.models import Membership
from fleet.web.access import RolePermission
from fleet.web.filtering import Filters
from fleet.web.idempotency import answered_once


class InstrumentSerializer(serializers.ModelSerializer[Instrument]):
    """An instrument in stored units, with what was typed and the certificate that counts today."""

    depot = serializers.CharField(source="depot.code", read_only=True)
    calibration = serializers.SerializerMethodField()
    due_on = serializers.SerializerMethodField()

    class Meta:
        model = Instrument
        fields = [
            "id", "depot", "label", "kind", "description", "division", "read_to", "range_low", "range_high",
            "permissible_error", "error_share", "electrical_unit", "sensitivity", "offset", "typed", "withdrawn_on",
            "calibration", "due_on",
        ]  # fmt: skip

    def get_calibration(self, row: Instrument) -> str:
        """One of: out of date, no certificate, due soon, in date, needs none, withdrawn."""
        return str(self.context["rows"][row.pk].word)

    def get_due_on(self, row: Instrument) -> str | None:
        """The due date of the certificate that counts."""
        due = self.context["rows"][row.pk].due_on
        return due.isoformat() if due else None


class InstrumentEntrySerializer(serializers.Serializer[Any]):
    """A new instrument; ``depot`` is its key, and each kind reads its own quantities of the form."""

    kind = serializers.ChoiceField(choices=Instrument.Kind.choices)
    depot = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]  # the framework's own word for another thing
    description = serializers.CharField(required=False, allow_blank=True)
    division = QuantitySerializer(required=False)
    read_to = serializers.CharField(required=False)
    range_low = QuantitySerializer(required=False)
    range_high = QuantitySerializer(required=False)
    permissible_error = QuantitySerializer(required=False)
    error_share = QuantitySerializer(required=False)
    electrical_unit = serializers.CharField(required=False)
    sensitivity = QuantitySerializer(required=False)
    offset = QuantitySerializer(required=False)


class InstrumentFilter(Filters):
    """Which instruments are asked for."""

    depot = filters.CharFilter(field_name="depot__code")

    class Meta:
        model = Instrument
        fields = ["depot", "kind"]


class _Instruments(generics.GenericAPIView[Instrument]):
    queryset = Instrument.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "instruments"
    role_to_write = Membership.Role.MANAGER
    serializer_class = InstrumentSerializer

    def get_queryset(self) -> QuerySet[Instrument]:
        return instruments_of(person_of(self.request)).prefetch_related("certificates")

    def shown(self, rows: list[Instrument]) -> Any:
        """Instruments with the word on their calibration today."""
        today = timezone.localdate()
        context = {"rows": {row.pk: row_of(row, today) for row in rows}}
        return InstrumentSerializer(rows, many=True, context=context).data


class InstrumentList(_Instruments):
    """Instruments of one's depots; a manager of the depot adds one."""

    filterset_class = InstrumentFilter

    @extend_schema(responses=InstrumentSerializer(many=True))
    def get(self, request: Request) -> Response:
        """List instruments."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self.shown(page or []))

    @extend_schema(request=InstrumentEntrySerializer, responses={201: InstrumentSerializer})
    def post(self, request: Request) -> Response:
        """Add an instrument."""
        entry = object_sent(request, InstrumentEntrySerializer)
        return answered_once(request, lambda: self.added(entry))

    def added(self, entry: dict[str, Any]) -> Response:
        """Add the instrument that the entry describes."""
        row = add_instrument(author=person_of(self.request), kind=str(entry.get("kind", "")), entry=entry)
        where = reverse("api-instrument", args=[row.pk])
        return Response(self.shown([row])[0], status=201, headers={"Location": where})


class InstrumentDetail(_Instruments):
    """One instrument."""

    @extend_schema(responses=InstrumentSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """Show an instrument."""
        return Response(self.shown([get_object_or_404(self.get_queryset(), pk=pk)])[0])
