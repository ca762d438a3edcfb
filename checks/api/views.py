"""Checks, verdicts and due dates for programs."""

from typing import Any, cast

from django.db.models import QuerySet
from django.urls import reverse
from django_filters import rest_framework as filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.serializers import (
    AssessmentSerializer,
    CheckDetailSerializer,
    CheckSerializer,
    DueSerializer,
    SubmissionSerializer,
)
from checks.models import Assessment, Check, Standing
from checks.selectors.check import check_of, check_records, checks_of
from checks.services.check import record_check
from fleet.api.strict import object_sent
from fleet.models import User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to
from fleet.web.access import RolePermission
from fleet.web.filtering import ByKey, Filters
from fleet.web.idempotency import HEADER, key_of
from fleet.web.pagination import ApiPagination

KEY = OpenApiParameter(
    HEADER,
    OpenApiTypes.UUID,
    OpenApiParameter.HEADER,
    description="The check's own UUID, unless the body has it as `key`; sent again it answers with the same check.",
)


class CheckFilter(Filters):
    """Which checks are asked for."""

    made_from = filters.IsoDateTimeFilter(field_name="made_at", lookup_expr="gte")
    made_until = filters.IsoDateTimeFilter(field_name="made_at", lookup_expr="lt")
    depot = filters.CharFilter(field_name="depot__code")
    turbocharger = ByKey(field_name="turbocharger_id")

    class Meta:
        model = Check
        fields = ["made_from", "made_until", "depot", "turbocharger"]


class DueFilter(Filters):
    """Which due dates are asked for."""

    until = filters.DateFilter(field_name="due_on", lookup_expr="lte")
    depot = filters.CharFilter(field_name="turbocharger__depot__code")
    rule = filters.CharFilter(field_name="binding_rule")

    class Meta:
        model = Standing
        fields = ["until", "depot", "rule"]


class NewestFirst(ApiPagination):
    """Checks, the latest made first."""

    ordering = ("-made_at", "-pk")  # type: ignore[assignment]


class LatestFirst(ApiPagination):
    """Verdicts on a check, the latest first."""

    ordering = "-pk"


class SoonestFirst(ApiPagination):
    """Due dates, the soonest first."""

    ordering = ("due_on", "pk")  # type: ignore[assignment]


class CheckList(generics.GenericAPIView[Check]):
    """Checks of one's depots; a new one is recorded here."""

    queryset = Check.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "checks"
    pagination_class = NewestFirst
    filterset_class = CheckFilter
    serializer_class = CheckSerializer

    def get_queryset(self) -> QuerySet[Check]:
        return checks_of(_person(self.request))

    @extend_schema(responses=CheckSerializer(many=True))
    def get(self, request: Request) -> Response:
        """List checks with their current verdicts, the latest first."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(CheckSerializer(check_records(page or []), many=True).data)

    @extend_schema(request=SubmissionSerializer, responses={201: CheckDetailSerializer}, parameters=[KEY])
    def post(self, request: Request) -> Response:
        """Record a signed check. The same key again answers with the same check."""
        check = record_check(user=_person(request), submission=_with_key(request))
        body = CheckDetailSerializer(check_records([check_of(_person(request), check.pk)])[0]).data
        return Response(body, status=201, headers={"Location": reverse("api-check", args=[check.pk])})


class CheckDetail(generics.GenericAPIView[Check]):
    """One check."""

    permission_classes = [RolePermission]
    scope = "checks"
    serializer_class = CheckDetailSerializer

    def get(self, request: Request, pk: int) -> Response:
        """Show a check with its readings, verdicts and amendments."""
        return Response(CheckDetailSerializer(check_records([check_of(_person(request), pk)])[0]).data)


class AssessmentList(generics.ListAPIView[Assessment]):
    """Every verdict on a check, with what it rests on."""

    queryset = Assessment.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "checks"
    serializer_class = AssessmentSerializer
    pagination_class = LatestFirst

    def get_queryset(self) -> QuerySet[Assessment]:
        check = check_of(_person(self.request), self.kwargs["pk"])
        return Assessment.objects.filter(stroke__check_made=check).select_related("stroke")


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
        return visible_to(_person(self.request), rows, depot="turbocharger__depot")


def _person(request: Request) -> User:
    """Who asks: the permission has turned away anybody who has not signed in."""
    return cast(User, request.user)


def _with_key(request: Request) -> dict[str, Any]:
    """The payload with its key, which may come in the header instead."""
    sent = object_sent(request, SubmissionSerializer)
    if HEADER not in request.headers:
        return sent
    key = str(key_of(request._request))
    if sent.get("key") not in (None, "", key):
        raise FleetError("two_keys", "key", f"The header {HEADER} and the key of the check differ. Send one of them.")
    return sent | {"key": key}
