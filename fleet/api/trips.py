"""Trips for programs: batches in, files under way, trips on record."""

import uuid
from typing import Any, cast

from django import forms
from django.http import StreamingHttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView

from fleet.api import trips_shapes as shapes
from fleet.imports.trips.batch import MOST_ROWS, bring_batch
from fleet.imports.trips.progress import progress_of, progress_row, sent_by
from fleet.imports.trips.sending import refused_report
from fleet.models import TripImport, User
from fleet.problems import FleetError
from fleet.selectors.trip_lists import trips_for
from fleet.web.access import MANAGER, RolePermission
from fleet.web.filtering import refuse_vague
from fleet.web.idempotency import HEADER, key_of
from fleet.web.pagination import ApiPagination, first_key, page_after

MOST_BYTES = 5 * 2**20
ORDER = ("truck_id", "started_s")
KEY = OpenApiParameter(
    HEADER, OpenApiTypes.UUID, OpenApiParameter.HEADER, required=True,
    description="A UUID of your own for each batch; sent again with the same rows it repeats the answer.",
)  # fmt: skip


class Asked(APIView):
    """An address for whoever holds a role somewhere."""

    permission_classes = [RolePermission]
    scope = "trips"
    role_to_write = MANAGER

    @property
    def person(self) -> User:
        """Who asks; the permission let nobody else in."""
        return cast(User, self.request.user)


class TripBatches(Asked):
    """Batches of trips."""

    @extend_schema(
        parameters=[KEY], request=shapes.BatchDescription,
        responses={201: shapes.BatchShape, 200: OpenApiResponse(shapes.BatchShape, "This key was answered before.")},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Bring a batch of trips in: each row is new, changed, known or refused with its reason."""
        key = key_of(request)
        if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_BYTES:
            raise FleetError("batch_size", "rows", f"Send at most {MOST_ROWS:,} rows and 5 MB at once.", status=413)
        entry = shapes.BatchEntry(data=request.data)
        entry.is_valid(raise_exception=True)
        done = bring_batch(user=self.person, key=key, **entry.validated_data)
        return Response(shapes.BatchShape(done).data, status=200 if done.repeated else 201)


class LatestFirst(ApiPagination):
    """Files as they were sent, the latest first."""

    ordering = ("-sent_at", "-pk")  # type: ignore[assignment]


class TripImports(Asked, generics.GenericAPIView[TripImport]):
    """Files and batches of whoever asks."""

    queryset = TripImport.objects.none()  # what it is a list of, for the description
    serializer_class = shapes.TripImportShape
    pagination_class = LatestFirst
    filter_backends = ()

    @extend_schema(responses=shapes.TripImportShape(many=True))
    def get(self, request: Request) -> Response:
        """The latest first, page by page."""
        page = self.paginate_queryset(sent_by(self.person))
        rows = [progress_row(row, with_told=False) for row in page or []]
        return self.get_paginated_response(shapes.TripImportShape(rows, many=True).data)


class TripImportDetail(Asked):
    """One file or batch."""

    @extend_schema(responses=shapes.ProgressShape)
    def get(self, request: Request, key: uuid.UUID) -> Response:
        """How far it is, and what became of its lines."""
        return Response(shapes.ProgressShape(progress_of(self.person, key)).data)


class TripImportRefused(Asked):
    """The refused lines of a file."""

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR})
    def get(self, request: Request, key: uuid.UUID) -> StreamingHttpResponse:
        """CSV with the columns line, reason, original; of a file not brought in yet, those of its trial run."""
        return StreamingHttpResponse(refused_report(self.person, key), content_type="text/csv; charset=utf-8")


class Wanted(forms.Form):
    """Which trips are asked for."""

    truck = forms.CharField(required=False, max_length=24)
    depot = forms.IntegerField(required=False, min_value=1)
    since = forms.DateField(required=False)
    until = forms.DateField(required=False)
    after = forms.CharField(required=False, max_length=200)
    page_size = forms.IntegerField(required=False, min_value=1, max_value=5000)


class Trips(Asked):
    """Trips on record."""

    @extend_schema(
        operation_id="trips_list",
        parameters=[
            OpenApiParameter("truck", description="Unit number."),
            OpenApiParameter("depot", OpenApiTypes.INT),
            OpenApiParameter("since", OpenApiTypes.DATE, description="First day on which they begin, UTC."),
            OpenApiParameter("until", OpenApiTypes.DATE, description="Last day on which they begin, UTC."),
            OpenApiParameter("page_size", OpenApiTypes.INT, description="500 unless told, at most 5,000."),
            OpenApiParameter("after", description="The mark of a page, as `next` carries it."),
        ],
        responses=shapes.TripPage,
    )
    def get(self, request: Request) -> Response:
        """Trips at one's depots by truck and start, page by page."""
        refuse_vague(request, set(Wanted.base_fields), {"truck", "after"})
        form = Wanted(request.query_params)
        if not form.is_valid():
            field, errors = next(iter(form.errors.get_json_data().items()))
            raise FleetError("invalid", field, " ".join(error["message"] for error in errors))
        wanted: dict[str, Any] = form.cleaned_data
        mark, size = wanted.pop("after"), wanted.pop("page_size") or 500
        rows = trips_for(self.person, first_truck=first_key(mark, ORDER), **wanted)
        page = page_after(rows, order=ORDER, mark=mark, size=size)
        here = request.build_absolute_uri()
        following = replace_query_param(here, "after", page.next_mark) if page.next_mark else None
        return Response({"next": following, "results": shapes.TripShape(page.rows, many=True).data})
