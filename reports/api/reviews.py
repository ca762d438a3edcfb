"""Reviews for programs: the runs kept, one run with its files, and asking for one."""

from typing import cast

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import reverse
from django_filters import rest_framework as filters
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from fleet.models import User
from fleet.problems import FleetError
from fleet.web.access import VIEWER, RolePermission
from fleet.web.files import file_answer
from fleet.web.filtering import Filters
from fleet.web.idempotency import HEADER, key_of
from fleet.web.pagination import ApiPagination
from reports.api.shapes import ReviewDetailShape, ReviewEntry, ReviewShape
from reports.models import Review
from reports.review.month import Month, month_from
from reports.selectors.reviews import TYPES, review_file, review_row, reviews_to_list, row_of
from reports.services.review import ask_review

KEY = OpenApiParameter(
    HEADER, OpenApiTypes.UUID, OpenApiParameter.HEADER, required=True,
    description="A UUID of your own for each run asked for; sent again it is the same request.",
)  # fmt: skip
JOB = OpenApiParameter(
    "Location", OpenApiTypes.URI_REF, OpenApiParameter.HEADER, response=[202], description="Where to see how far it is."
)


class ReviewFilter(Filters):
    """Which runs are asked for."""

    month = filters.CharFilter(method="in_month", help_text="Such as 2026-10.")
    depot = filters.CharFilter(field_name="depot__code", help_text="Short name of the depot.")

    class Meta:
        model = Review
        fields = ["month", "depot"]

    def in_month(self, rows: QuerySet[Review], name: str, text: str) -> QuerySet[Review]:
        """Runs of one month."""
        return rows.filter(month=read_month(text).first)


class NewestFirst(ApiPagination):
    """Runs, the newest month first."""

    ordering = ("-month", "-pk")  # type: ignore[assignment]


class Reviews(generics.GenericAPIView[Review]):
    """Runs of the monthly review that one may read; another one is asked for here."""

    queryset = Review.objects.none()  # what it is a list of, for the description
    permission_classes = [RolePermission]
    scope = "reviews"
    role_to_write = VIEWER  # asking only reads
    pagination_class = NewestFirst
    filterset_class = ReviewFilter
    serializer_class = ReviewShape  # of a row ready to show

    def get_queryset(self) -> QuerySet[Review]:
        return reviews_to_list(cast(User, self.request.user))

    @extend_schema(responses=ReviewShape(many=True))
    def get(self, request: Request) -> Response:
        """List the runs kept, the newest month first."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(ReviewShape([row_of(row) for row in page or []], many=True).data)

    @extend_schema(
        request=ReviewEntry, parameters=[KEY, JOB],
        responses={202: ReviewShape, 200: OpenApiResponse(ReviewShape, "This key was sent before; its run is over.")},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Ask for a run; the answer names its job, and the run tells the same."""
        key, user = key_of(request), cast(User, request.user)
        entry = ReviewEntry(data=request.data, context=self.get_serializer_context())
        entry.is_valid(raise_exception=True)
        month, depot = read_month(entry.validated_data["month"]), entry.validated_data.get("depot")
        row = review_row(user, ask_review(user=user, month=month, depot=depot, key=key).pk)
        headers = {"Location": reverse("api-job", args=[row.job])} if row.is_open else {}
        return Response(ReviewShape(row).data, status=202 if row.is_open else 200, headers=headers)


class ReviewDetail(APIView):
    """One run."""

    permission_classes = [RolePermission]
    scope = "reviews"

    @extend_schema(responses=ReviewDetailShape)
    def get(self, request: Request, pk: int) -> Response:
        """Its state, its files and the sentences of its first page."""
        row = review_row(cast(User, request.user), pk)
        return Response(ReviewDetailShape(row, context={"request": request}).data)


class ReviewFileAddress(APIView):
    """A file of a run."""

    permission_classes = [RolePermission]
    scope = "reviews"

    @extend_schema(responses={(200, kind): OpenApiTypes.BINARY for kind in TYPES.values()})
    def get(self, request: Request, pk: int, kind: str) -> HttpResponse:
        """Its bytes."""
        found = review_file(cast(User, request.user), pk, kind)
        return file_answer(found.name, found.content, content_type=found.content_type)


def read_month(text: str) -> Month:
    """A month as programs write it. Raises FleetError."""
    month = month_from(text)
    if month is None:
        raise FleetError("month_unknown", "month", f"'{text[:20]}' is no month. Write it as year and month: 2026-10.")
    return month
