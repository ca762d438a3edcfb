"""What programs receive of a study: how far it is, its readings, its analysis; lengths in mm."""

import math
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from checks.measurement.study import Study as Analysis
from checks.models import Publication, Study, StudyReading
from checks.selectors.study import STATES, row_of


class PublicationSerializer(serializers.ModelSerializer[Publication]):
    """From when until when a study's figures counted for its depot's checks."""

    published_by = serializers.CharField(source="published_by.username", read_only=True)
    ended_by = serializers.CharField(source="ended_by.username", read_only=True, allow_null=True, default=None)
    replaced_by_study = serializers.IntegerField(
        source="replaced_by.study_id", read_only=True, allow_null=True, default=None
    )

    class Meta:
        model = Publication
        fields = [
            "id", "stimulus", "repeatability_mm", "repeatability_dof", "reproducibility_mm", "reproducibility_dof",
            "counts_from", "reason", "published_by", "ended_at", "ended_reason", "ended_by", "replaced_by_study",
        ]  # fmt: skip


class StudySerializer(serializers.ModelSerializer[Study]):
    """A study and how far it is."""

    depot = serializers.CharField(source="depot.code", read_only=True)
    specification = serializers.CharField(source="specification.revision", read_only=True)
    turbocharger_model = serializers.CharField(source="specification.turbocharger_model.name", read_only=True)
    dial = serializers.CharField(source="dial.label", read_only=True)
    stimulus_instrument = serializers.CharField(source="stimulus_instrument.label", read_only=True)
    meter = serializers.CharField(source="meter.label", read_only=True, allow_null=True, default=None)
    state = serializers.SerializerMethodField()
    parts = serializers.IntegerField(source="parts_held", read_only=True)
    technicians = serializers.IntegerField(source="technicians_held", read_only=True)
    readings = serializers.IntegerField(source="readings_held", read_only=True)
    entered = serializers.IntegerField(source="readings_entered", read_only=True)
    publications = PublicationSerializer(many=True, read_only=True)

    class Meta:
        model = Study
        fields = [
            "id", "depot", "name", "turbocharger_model", "specification", "dial", "stimulus_instrument", "meter",
            "planned_for", "seed", "trials", "parts", "technicians", "readings", "entered", "state", "publications",
        ]  # fmt: skip

    @extend_schema_field(serializers.ChoiceField(choices=list(STATES)))
    def get_state(self, study: Study) -> str:
        """Told from readings and publications."""
        return row_of(study).state


class StudyReadingSerializer(serializers.ModelSerializer[StudyReading]):
    """One place of the order; the travel is null until it is read."""

    part = serializers.CharField(source="part.name", read_only=True)
    turbocharger = serializers.CharField(
        source="part.turbocharger.serial", read_only=True, allow_null=True, default=None
    )
    technician = serializers.CharField(source="technician.username", read_only=True)

    class Meta:
        model = StudyReading
        fields = ["place", "part", "turbocharger", "technician", "trial", "travel_mm", "typed", "unit", "entered_at"]


class Finite(serializers.FloatField):
    """A number; null where it has no bound, since JSON has no infinity."""

    def to_representation(self, value: float) -> float | None:  # type: ignore[override]
        """Leave infinity out."""
        return float(value) if math.isfinite(value) else None


class AnovaLineSerializer(serializers.Serializer[Any]):
    """A source of variation."""

    source = serializers.CharField()  # type: ignore[assignment]
    dof = serializers.IntegerField()
    sum_of_squares = serializers.FloatField()
    mean_square = serializers.FloatField(allow_null=True)
    f = Finite(allow_null=True)
    p = serializers.FloatField(allow_null=True)


class AnalysisSerializer(serializers.Serializer[Analysis]):
    """Standard deviations in mm; shares of the window in per cent, of six standard deviations."""

    table = AnovaLineSerializer(many=True)
    pooled = serializers.BooleanField()
    repeatability = serializers.FloatField()
    repeatability_dof = serializers.FloatField()
    reproducibility = serializers.FloatField()
    reproducibility_dof = serializers.FloatField()
    interaction = serializers.FloatField()
    measurement = serializers.FloatField()
    part = serializers.FloatField()
    total = serializers.FloatField()
    share_of_total = serializers.DictField(child=serializers.FloatField())
    share_of_window = serializers.DictField(child=serializers.FloatField())
    categories = serializers.IntegerField()
