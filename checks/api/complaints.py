"""Complaints for programs: list, add, amend, close."""

from typing import Any

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from checks.services.complaint import correct_complaint, file_complaint, settle_complaint
from fleet.api.base import Action, Listing, Single
from fleet.api.entries import Visible
from fleet.api.strict import Entry
from fleet.models import Complaint, Truck
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


class ComplaintShape(serializers.ModelSerializer[Complaint]):
    """A complaint as programs receive it."""

    answered_by = serializers.SerializerMethodField(help_text="Id of the check that answered it; null without one.")

    class Meta:
        model = Complaint
        fields = [
            "id", "truck", "kind", "raised_on", "raised_by", "text", "finding", "closed_on", "answered_by",
        ]  # fmt: skip

    def get_answered_by(self, complaint: Complaint) -> int | None:
        """The check chosen when it was closed."""
        answer = getattr(complaint, "answer", None)
        return answer.check_made_id if answer else None


class ComplaintEntry(Entry):
    """A new complaint."""

    truck = Visible(Truck)
    kind = serializers.ChoiceField(choices=Complaint.Kind.choices)
    raised_on = serializers.DateField()
    raised_by = serializers.CharField(max_length=80)
    text = serializers.CharField(required=False, allow_blank=True, max_length=4000)


class ComplaintChange(Entry):
    """What of a complaint is amended, and why."""

    kind = serializers.ChoiceField(choices=Complaint.Kind.choices, required=False)
    raised_on = serializers.DateField(required=False)
    raised_by = serializers.CharField(max_length=80, required=False)
    text = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    reason = serializers.CharField(max_length=100, required=False, help_text="Needed: why it is amended.")


class CloseEntry(Entry):
    """What was found."""

    finding = serializers.CharField(max_length=4000)
    closed_on = serializers.DateField(required=False, help_text="Today where it is left out.")
    check = serializers.IntegerField(
        required=False, allow_null=True, help_text="Id of the check that answered it, of this truck's turbochargers."
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
