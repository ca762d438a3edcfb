"""Trips on record, for programs."""

from typing import Any

from django import forms
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from fleet.api import shapes
from fleet.api.base import Asked
from fleet.problems import FleetError
from fleet.selectors.trip_lists import trips_for
from fleet.web.filtering import refuse_vague
from fleet.web.pagination import first_key, page_after

ORDER = ("truck_id", "started_s")


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

    scope = "trips"

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
