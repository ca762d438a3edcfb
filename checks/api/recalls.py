"""Recalls for programs, to read: the pages work through them."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import generics, serializers

from checks.api.person import person_of
from checks.models import Recall, RecallEntry
from checks.selectors.recall import recalls_visible, strokes_of_recall, units_of_recall
from fleet.web.access import RolePermission


class RecallSerializer(serializers.ModelSerializer[Recall]):
    """A recall; the worst error in the instrument's own quantity."""

    instrument = serializers.CharField(source="instrument.label", read_only=True)
    depot = serializers.CharField(source="instrument.depot.code", read_only=True)
    certificate = serializers.CharField(source="found.number", read_only=True)
    found_on = serializers.DateField(source="found.issued_on", read_only=True)

    class Meta:
        model = Recall
        fields = [
            "id", "instrument", "depot", "certificate", "since", "found_on", "worst_indication", "worst_error",
            "worst_permissible", "manner", "went_wrong_on", "opened_at", "judged_at", "closed_at", "conclusion",
        ]  # fmt: skip


class RecalledVerdictSerializer(serializers.Serializer[Any]):
    """One stroke's three verdicts; travels in mm."""

    check = serializers.IntegerField(source="check.pk")
    turbocharger = serializers.CharField(source="check.turbocharger.serial")
    moment = serializers.CharField(source="row.original.stroke.moment")
    made_on = serializers.DateField(source="row.made_on")
    recorded = serializers.CharField(source="row.original.state")
    recorded_travel_mm = serializers.FloatField(source="row.original.travel_mm", allow_null=True)
    full = serializers.CharField(source="row.full_state")
    full_travel_mm = serializers.FloatField(source="row.full_travel_mm", allow_null=True)
    grown = serializers.CharField(source="row.grown_state")
    grown_travel_mm = serializers.FloatField(source="row.grown_travel_mm", allow_null=True)
    grown_share = serializers.FloatField(source="row.share")
    changes = serializers.BooleanField(source="flips")


class RecalledUnitSerializer(serializers.Serializer[Any]):
    """A unit whose verdict changes, and how far the work on it is."""

    turbocharger = serializers.CharField(source="turbocharger.serial")
    state = serializers.ChoiceField(choices=["to_see", "seen", "accepted", "not_in_use"])
    seen_on = serializers.DateField(allow_null=True)


class EntrySerializer(serializers.ModelSerializer[RecallEntry]):
    """A line of the trail."""

    author = serializers.CharField(source="author.username", read_only=True, allow_null=True, default=None)
    turbocharger = serializers.CharField(source="turbocharger.serial", read_only=True, allow_null=True, default=None)

    class Meta:
        model = RecallEntry
        fields = ["what", "turbocharger", "reason", "author", "made_at"]


class RecallDetailSerializer(RecallSerializer):
    """A recall with its verdicts, units and trail."""

    verdicts = serializers.SerializerMethodField()
    units = serializers.SerializerMethodField()
    trail = EntrySerializer(source="entries", many=True, read_only=True)

    class Meta(RecallSerializer.Meta):
        fields = [*RecallSerializer.Meta.fields, "verdicts", "units", "trail"]

    @extend_schema_field(RecalledVerdictSerializer(many=True))
    def get_verdicts(self, recall: Recall) -> list[dict[str, Any]]:
        """The strokes in question, of the depots that the reader may see."""
        strokes = strokes_of_recall(recall, person_of(self.context["request"]))
        return [dict(RecalledVerdictSerializer(one).data) for one in strokes]

    @extend_schema_field(RecalledUnitSerializer(many=True))
    def get_units(self, recall: Recall) -> list[dict[str, Any]]:
        """Those to be seen again first."""
        units = units_of_recall(recall, person_of(self.context["request"]))
        return [dict(RecalledUnitSerializer(one).data) for one in units]


class Recalls(generics.ListAPIView[Recall]):
    """Recalls of instruments of one's depots, the newest first."""

    permission_classes = [RolePermission]
    scope = "instruments"
    serializer_class = RecallSerializer
    queryset = Recall.objects.none()  # what it is a list of, for the description

    def get_queryset(self) -> QuerySet[Recall]:
        return recalls_visible(person_of(self.request)).order_by("-opened_at", "-pk")


class RecallDetail(generics.RetrieveAPIView[Recall]):
    """One recall with its three verdicts a stroke, units and trail."""

    permission_classes = [RolePermission]
    scope = "instruments"
    serializer_class = RecallDetailSerializer
    queryset = Recall.objects.none()

    def get_queryset(self) -> QuerySet[Recall]:
        return recalls_visible(person_of(self.request))
