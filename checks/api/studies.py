"""Measurement studies for programs, to read: plans, readings, analyses and publications."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import generics, serializers

from checks.api.person import person_of
from checks.api.study_serializers import AnalysisSerializer, StudyReadingSerializer, StudySerializer
from checks.models import Study
from checks.selectors.study import studies_visible, told_of
from fleet.web.access import RolePermission


class StudyDetailSerializer(StudySerializer):
    """A study with its readings and its analysis; the analysis is null until every reading is entered."""

    order = serializers.SerializerMethodField()
    analysis = serializers.SerializerMethodField()
    why_no_analysis = serializers.SerializerMethodField()

    class Meta(StudySerializer.Meta):
        fields = [*StudySerializer.Meta.fields, "order", "analysis", "why_no_analysis"]

    def to_representation(self, instance: Study) -> dict[str, Any]:
        """Read and analyse once for the three."""
        self.told = told_of(instance)
        shown: dict[str, Any] = super().to_representation(instance)
        return shown

    @extend_schema_field(StudyReadingSerializer(many=True))
    def get_order(self, study: Study) -> list[dict[str, Any]]:
        """Every reading in the order in which it is made."""
        return [dict(StudyReadingSerializer(row).data) for row in self.told.table.readings]

    @extend_schema_field(AnalysisSerializer(allow_null=True))
    def get_analysis(self, study: Study) -> dict[str, Any] | None:
        """Two-way analysis of variance."""
        return dict(AnalysisSerializer(self.told.analysis).data) if self.told.analysis else None

    def get_why_no_analysis(self, study: Study) -> str:
        """What is missing, or empty."""
        return self.told.refusal


class Studies(generics.ListAPIView[Study]):
    """Measurement studies of one's depots, the newest first."""

    permission_classes = [RolePermission]
    scope = "studies"
    serializer_class = StudySerializer
    queryset = Study.objects.none()  # what it is a list of, for the description

    def get_queryset(self) -> QuerySet[Study]:
        return studies_visible(person_of(self.request)).order_by("-planned_for", "-pk")


class StudyDetail(generics.RetrieveAPIView[Study]):
    """One study with its readings in their order, its analysis and its publications."""

    permission_classes = [RolePermission]
    scope = "studies"
    serializer_class = StudyDetailSerializer
    queryset = Study.objects.none()

    def get_queryset(self) -> QuerySet[Study]:
        return studies_visible(person_of(self.request))
