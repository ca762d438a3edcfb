"""Checks and their verdicts for programs."""

from django.db.models import QuerySet
from django.urls import reverse
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.check_serializers import AssessmentSerializer, CheckDetailSerializer, CheckSerializer
from checks.api.person import person_of
from checks.api.submission import KEY, SubmissionSerializer, with_key
from checks.models import Assessment, Check
from checks.selectors.check import check_of, check_records, checks_of
from checks.services.check import record_check
from fleet.web.access import RolePermission
from fleet.web.filtering import ByKey, Filters
from fleet.web.pagination import ApiPagination


class CheckFilter(Filters):
    """Which checks are asked for."""

    made_from = filters.IsoDateTimeFilter(field_name="made_at", lookup_expr="gte")
    made_until = filters.IsoDateTimeFilter(field_name="made_at", lookup_expr="lt")
    depot = filters.CharFilter(field_name="depot__code")
    turbocharger = ByKey(field_name="turbocharger_id")

    class Meta:
        model = Check
        fields = ["made_from", "made_until", "depot", "turbocharger"]


class NewestFirst(ApiPagination):
    """Checks, the latest made first."""

    ordering = ("-made_at", "-pk")  # type: ignore[assignment]


class LatestFirst(ApiPagination):
    """Verdicts on a check, the latest first."""

    ordering = "-pk"


class CheckList(generics.GenericAPIView[Check]):
    """Checks of one's depots; a new one is recorded here."""

    queryset = Check.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "checks"
    pagination_class = NewestFirst
    filterset_class = CheckFilter
    serializer_class = CheckSerializer

    def get_queryset(self) -> QuerySet[Check]:
        return checks_of(person_of(self.request))

    @extend_schema(responses=CheckSerializer(many=True))
    def get(self, request: Request) -> Response:
        """List checks with their current verdicts, the latest first."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(CheckSerializer(check_records(page or []), many=True).data)

    @extend_schema(request=SubmissionSerializer, responses={201: CheckDetailSerializer}, parameters=[KEY])
    def post(self, request: Request) -> Response:
        """Record a signed check. The same key again answers with the same check."""
        check = record_check(user=person_of(request), submission=with_key(request))
        body = CheckDetailSerializer(check_records([check_of(person_of(request), check.pk)])[0]).data
        return Response(body, status=201, headers={"Location": reverse("api-check", args=[check.pk])})


class CheckDetail(generics.GenericAPIView[Check]):
    """One check."""

    permission_classes = [RolePermission]
    scope = "checks"
    serializer_class = CheckDetailSerializer

    def get(self, request: Request, pk: int) -> Response:
        """Show a check with its readings, verdicts and amendments."""
        return Response(CheckDetailSerializer(check_records([check_of(person_of(request), pk)])[0]).data)


class AssessmentList(generics.ListAPIView[Assessment]):
    """Every verdict on a check, with what it rests on."""

    queryset = Assessment.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "checks"
    serializer_class = AssessmentSerializer
    pagination_class = LatestFirst

    def get_queryset(self) -> QuerySet[Assessment]:
        check = check_of(person_of(self.request), self.kwargs["pk"])
        return Assessment.objects.filter(stroke__check_made=check).select_related("stroke")
