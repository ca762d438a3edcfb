"""Trips on their way in, for programs: batches, and how far files are."""

import uuid

from django.http import StreamingHttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api import trips_shapes as shapes
from fleet.api.base import Asked
from fleet.imports.trips.batch import MOST_ROWS, bring_batch
from fleet.imports.trips.progress import progress_of, progress_row, sent_by
from fleet.imports.trips.sending import refused_report
from fleet.models import TripImport
from fleet.problems import FleetError
from fleet.web.access import MANAGER
from fleet.web.idempotency import key_of
from fleet.web.pagination import ApiPagination

MOST_BYTES = 5 * 2**20


class OfTrips(Asked):
    """What managers send and follow."""

    scope = "trips"
    role_to_write = MANAGER


class TripBatches(OfTrips):
    """Batches of trips."""

    @extend_schema(
        request=shapes.BatchDescription,
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


class TripImports(OfTrips, generics.GenericAPIView[TripImport]):
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


class TripImportDetail(OfTrips):
    """One file or batch."""

    @extend_schema(responses=shapes.ProgressShape)
    def get(self, request: Request, key: uuid.UUID) -> Response:
        """How far it is, and what became of its lines."""
        return Response(shapes.ProgressShape(progress_of(self.person, key)).data)


class TripImportRefused(OfTrips):
    """The refused lines of a file."""

    @extend_schema(responses={(200, "text/csv"): OpenApiTypes.STR})
    def get(self, request: Request, key: uuid.UUID) -> StreamingHttpResponse:
        """CSV with the columns line, reason, original; of a file not brought in yet, those of its trial run."""
        return StreamingHttpResponse(refused_report(self.person, key), content_type="text/csv; charset=utf-8")
