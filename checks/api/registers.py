"""Specifications, instruments, certificates and the policy for programs. The services read every entry."""

from typing import Any, cast

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api import register_serializers as shapes
from checks.models import Certificate, Instrument, Policy, SpecificationRevision
from checks.selectors.instrument import instruments_of, row_of
from checks.selectors.policy import current_policy
from checks.services.certificate import add_certificate
from checks.services.instrument import add_instrument
from checks.services.specification import add_specification
from fleet.api.strict import object_sent
from fleet.models import Membership, TurbochargerModel, User
from fleet.problems import FleetError
from fleet.web.access import RolePermission
from fleet.web.filtering import Filters
from fleet.web.idempotency import answered_once


class SpecificationFilter(Filters):
    """Which revisions are asked for."""

    class Meta:
        model = SpecificationRevision
        fields = ["turbocharger_model"]


class InstrumentFilter(Filters):
    """Which instruments are asked for."""

    depot = filters.CharFilter(field_name="depot__code")

    class Meta:
        model = Instrument
        fields = ["depot", "kind"]


class SpecificationList(generics.ListAPIView[SpecificationRevision]):
    """Every revision; a manager adds one. Correcting and ending are done in the pages."""

    permission_classes = [RolePermission]
    scope = "specifications"
    role_to_write = Membership.Role.MANAGER
    serializer_class = shapes.SpecificationSerializer
    filterset_class = SpecificationFilter
    queryset = SpecificationRevision.objects.select_related("turbocharger_model")

    @extend_schema(request=shapes.SpecificationEntrySerializer, responses={201: shapes.SpecificationSerializer})
    def post(self, request: Request) -> Response:
        """Add a revision."""
        entry = object_sent(request, shapes.SpecificationEntrySerializer)
        return answered_once(request, lambda: self.added(entry))

    def added(self, entry: dict[str, Any]) -> Response:
        """Add the revision that the entry describes."""
        model = _found(TurbochargerModel.objects.all(), entry.get("turbocharger_model"), "turbocharger_model")
        row = add_specification(author=_person(self.request), turbocharger_model=model, entry=entry)
        where = reverse("api-specification", args=[row.pk])
        return Response(shapes.SpecificationSerializer(row).data, status=201, headers={"Location": where})


class SpecificationDetail(generics.RetrieveAPIView[SpecificationRevision]):
    """One revision."""

    permission_classes = [RolePermission]
    scope = "specifications"
    serializer_class = shapes.SpecificationSerializer
    queryset = SpecificationRevision.objects.select_related("turbocharger_model")


class _Instruments(generics.GenericAPIView[Instrument]):
    queryset = Instrument.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "instruments"
    role_to_write = Membership.Role.MANAGER
    serializer_class = shapes.InstrumentSerializer

    def get_queryset(self) -> QuerySet[Instrument]:
        return instruments_of(_person(self.request)).prefetch_related("certificates")

    def shown(self, rows: list[Instrument]) -> Any:
        """Instruments with the word on their calibration today."""
        today = timezone.localdate()
        context = {"rows": {row.pk: row_of(row, today) for row in rows}}
        return shapes.InstrumentSerializer(rows, many=True, context=context).data


class InstrumentList(_Instruments):
    """Instruments of one's depots; a manager of the depot adds one."""

    filterset_class = InstrumentFilter

    @extend_schema(responses=shapes.InstrumentSerializer(many=True))
    def get(self, request: Request) -> Response:
        """List instruments."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self.shown(page or []))

    @extend_schema(request=shapes.InstrumentEntrySerializer, responses={201: shapes.InstrumentSerializer})
    def post(self, request: Request) -> Response:
        """Add an instrument."""
        entry = object_sent(request, shapes.InstrumentEntrySerializer)
        return answered_once(request, lambda: self.added(entry))

    def added(self, entry: dict[str, Any]) -> Response:
        """Add the instrument that the entry describes."""
        row = add_instrument(author=_person(self.request), kind=str(entry.get("kind", "")), entry=entry)
        where = reverse("api-instrument", args=[row.pk])
        return Response(self.shown([row])[0], status=201, headers={"Location": where})


class InstrumentDetail(_Instruments):
    """One instrument."""

    @extend_schema(responses=shapes.InstrumentSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """Show an instrument."""
        return Response(self.shown([get_object_or_404(self.get_queryset(), pk=pk)])[0])


class CertificateList(generics.ListAPIView[Certificate]):
    """Certificates of one instrument; a manager of its depot records one."""

    permission_classes = [RolePermission]
    scope = "instruments"
    role_to_write = Membership.Role.MANAGER
    serializer_class = shapes.CertificateSerializer

    def instrument(self) -> Instrument:
        """The instrument of the address, among those of one's depots."""
        return get_object_or_404(instruments_of(_person(self.request)), pk=self.kwargs["pk"])

    def get_queryset(self) -> QuerySet[Certificate]:
        if getattr(self, "swagger_fake_view", False):
            return Certificate.objects.none()
        return Certificate.objects.filter(instrument=self.instrument()).prefetch_related("points")

    @extend_schema(request=shapes.CertificateEntrySerializer, responses={201: shapes.CertificateSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """Record a certificate."""
        instrument, entry = self.instrument(), object_sent(request, shapes.CertificateEntrySerializer)
        return answered_once(request, lambda: self.added(instrument, entry))

    def added(self, instrument: Instrument, entry: dict[str, Any]) -> Response:
        """Record the certificate that the entry describes."""
        row = add_certificate(author=_person(self.request), instrument=instrument, entry=entry)
        return Response(shapes.CertificateSerializer(row).data, status=201)


class PolicyDetail(generics.GenericAPIView[Policy]):
    """The fleet's policy."""

    permission_classes = [RolePermission]
    scope = "specifications"
    role_to_write = Membership.Role.MANAGER
    serializer_class = shapes.PolicySerializer

    def get(self, request: Request) -> Response:
        """Show the policy."""
        return Response(shapes.PolicySerializer(current_policy()).data)


def _person(request: Request) -> User:
    """Who asks; the permission let nobody else in."""
    return cast(User, request.user)


def _found(rows: QuerySet[Any], key: Any, field: str) -> Any:
    try:
        return get_object_or_404(rows, pk=key)
    except (Http404, ValueError, TypeError, OverflowError) as error:
        raise FleetError("not_found", field, f"There is no row with the key {str(key)[:20]!r}.") from error
