"""Complaints for programs: list, add, amend, close."""

from typing import Any

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.request import Request
from rest_framework.response import Response

from checks.api.complaint_shapes import CloseEntry, ComplaintChange, ComplaintEntry, ComplaintShape
from checks.services.complaint import correct_complaint, file_complaint, settle_complaint
from fleet.api.base import Action, Listing, Single
from fleet.models import Complaint
from fleet.web.access import MANAGER
from fleet.web.filtering import Filters, YesNo
from fleet.web.idempotency import HEADER, key_of

KEY = OpenApiParameter(
    HEADER,
    str,
    OpenApiParameter.HEADER,
    required=True,
    description="A UUID of your own. The same UUID again answers with the same complaint.",
)


class ComplaintFilter(Filters):
    """Which complaints are asked for."""

    open = YesNo(field_name="closed_on", lookup_expr="isnull", help_text="true: those still open.")
    depot = filters.CharFilter(field_name="truck__depot__code", help_text="Short name of the depot.")
    raised_from = filters.DateFilter(field_name="raised_on", lookup_expr="gte")
    raised_until = filters.DateFilter(field_name="raised_on", lookup_expr="lte")

    class Meta:
        model = Complaint
        fields = ["truck", "kind", "open", "depot", "raised_from", "raised_until"]


@extend_schema_view(
    post=extend_schema(request=ComplaintEntry, responses={201: ComplaintShape}, parameters=[KEY]),
)
class Complaints(Listing):
    """Complaints about the trucks at the sender's depots."""

    rows: QuerySet[Complaint] = Complaint.objects.select_related("answer")
    scope, depot, filterset_class = "complaints", "truck__depot", ComplaintFilter
    entry_class, shape_class = ComplaintEntry, ComplaintShape

    def post(self, request: Request) -> Response:
        """File a complaint; the truck's turbochargers are planned anew."""
        key = key_of(request._request)
        typed = self.typed(request)
        return self.answer(file_complaint(user=request.user, key=key, **typed), status=201)  # type: ignore[arg-type]


@extend_schema_view(patch=extend_schema(request=ComplaintChange, responses=ComplaintShape))
class ComplaintDetail(Single):
    """One complaint."""

    rows: QuerySet[Complaint] = Complaint.objects.select_related("truck__depot", "answer")
    scope, depot = "complaints", "truck__depot"
    entry_class, shape_class = ComplaintChange, ComplaintShape

    def edit(self, user: Any, row: Complaint, typed: dict[str, Any]) -> Complaint:
        return correct_complaint(user=user, complaint=row, **{"reason": "", **typed})


@extend_schema_view(
    post=extend_schema(
        request=CloseEntry,
        responses=ComplaintShape,
        description="Close a complaint with what was found, and the check that told it; managers close.",
    )
)
class CloseComplaint(Action):
    """Close a complaint with what was found."""

    role_to_write = MANAGER
    rows: QuerySet[Complaint] = Complaint.objects.select_related("truck__depot")
    scope, depot = "complaints", "truck__depot"
    entry_class, shape_class = CloseEntry, ComplaintShape

    def do(self, user: Any, row: Complaint, typed: dict[str, Any]) -> Complaint:
        return settle_complaint(user=user, complaint=row, **typed)
