"""Calibration certificates for programs; the service reads every entry."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.person import person_of
from checks.models import Certificate, CertificatePoint, Instrument
from checks.selectors.instrument import instruments_of
from checks.services.certificate import add_certificate
from fleet.api.strict import object_sent
from fleet.models import Membership
from fleet.web.access import RolePermission
from fleet.web.idempotency import answered_once


class PointSerializer(serializers.ModelSerializer[CertificatePoint]):
    """One calibrated point in stored units."""

    class Meta:
        model = CertificatePoint
        fields = ["moment", "indication", "error", "expanded_uncertainty", "coverage_factor", "typed"]


class CertificateSerializer(serializers.ModelSerializer[Certificate]):
    """A certificate with its points."""

    points = PointSerializer(many=True, read_only=True)

    class Meta:
        model = Certificate
        fields = ["id", "number", "laboratory", "issued_on", "due_on", "note", "superseded_reason", "points"]


class PointEntrySerializer(serializers.Serializer[Any]):
    """A point as typed: either its error or its reference value."""

    moment = serializers.ChoiceField(choices=CertificatePoint.Moment.choices)
    indication = serializers.CharField()
    error = serializers.CharField(required=False)
    reference = serializers.CharField(required=False)
    expanded_uncertainty = serializers.CharField()
    coverage_factor = serializers.CharField(required=False)


class CertificateEntrySerializer(serializers.Serializer[Any]):
    """A new certificate; all points in one ``unit``."""

    number = serializers.CharField()
    laboratory = serializers.CharField(required=False, allow_blank=True)
    issued_on = serializers.DateField()
    due_on = serializers.DateField()
    note = serializers.CharField(required=False, allow_blank=True)
    unit = serializers.CharField()
    given = serializers.ChoiceField(choices=["error", "reference"], required=False)
    not_adjusted = serializers.BooleanField(required=False)
    points = PointEntrySerializer(many=True)
    confirmed = serializers.BooleanField(required=False)


class CertificateList(generics.ListAPIView[Certificate]):
    """Certificates of one instrument; a manager of its depot records one."""

    permission_classes = [RolePermission]
    scope = "instruments"
    role_to_write = Membership.Role.MANAGER
    serializer_class = CertificateSerializer

    def instrument(self) -> Instrument:
        """The instrument of the address, among those of one's depots."""
        return get_object_or_404(instruments_of(person_of(self.request)), pk=self.kwargs["pk"])

    def get_queryset(self) -> QuerySet[Certificate]:
        if getattr(self, "swagger_fake_view", False):
            return Certificate.objects.none()
        return Certificate.objects.filter(instrument=self.instrument()).prefetch_related("points")

    @extend_schema(request=CertificateEntrySerializer, responses={201: CertificateSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """Record a certificate."""
        instrument, entry = self.instrument(), object_sent(request, CertificateEntrySerializer)
        return answered_once(request, lambda: self.added(instrument, entry))

    def added(self, instrument: Instrument, entry: dict[str, Any]) -> Response:
        """Record the certificate that the entry describes."""
        row = add_certificate(author=person_of(self.request), instrument=instrument, entry=entry)
        return Response(CertificateSerializer(row).data, status=201)
