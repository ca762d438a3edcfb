"""What programs receive of checks; values in kPa or %, mm, km and h."""

from typing import Any

from rest_framework import serializers

from checks.models import Assessment


class VerdictSerializer(serializers.Serializer[Any]):
    """A current verdict on one stroke."""

    pk = serializers.IntegerField()
    moment = serializers.CharField()
    state = serializers.ChoiceField(choices=Assessment.State.choices)
    travel_mm = serializers.FloatField(allow_null=True)
    expanded_uncertainty_mm = serializers.FloatField(allow_null=True)
    p_inside = serializers.FloatField(allow_null=True)
    specification = serializers.IntegerField()
    revision = serializers.CharField()
    basis = serializers.CharField()
    made_at = serializers.DateTimeField()


class ReadingSerializer(serializers.Serializer[Any]):
    """One pair of indications, as typed and converted."""

    moment = serializers.CharField()
    order = serializers.IntegerField()
    phase = serializers.CharField()
    stimulus = serializers.FloatField()
    stimulus_typed = serializers.CharField()
    stimulus_unit = serializers.CharField()
    travel_mm = serializers.FloatField(allow_null=True)
    travel_typed = serializers.CharField()
    travel_unit = serializers.CharField()
    seconds = serializers.FloatField(allow_null=True)


class AmendmentSerializer(serializers.Serializer[Any]):
    """A correction of the record."""

    field = serializers.CharField()
    old_value = serializers.CharField()
    new_value = serializers.CharField()
    reason = serializers.CharField()
    author = serializers.CharField()
    made_at = serializers.DateTimeField()


class CheckSerializer(serializers.Serializer[Any]):
    """A check with its current verdicts."""

    pk = serializers.IntegerField()
    key = serializers.UUIDField()
    turbocharger = serializers.IntegerField()
    serial = serializers.CharField()
    depot = serializers.CharField()
    technician = serializers.CharField()
    reason = serializers.CharField()
    complaint = serializers.IntegerField(allow_null=True)
    made_at = serializers.DateTimeField()
    odometer_km = serializers.FloatField(allow_null=True)
    engine_hours = serializers.FloatField(allow_null=True)
    half_turns = serializers.IntegerField(allow_null=True)
    note = serializers.CharField()
    specification = serializers.IntegerField()
    revision = serializers.CharField()
    verdicts = VerdictSerializer(many=True)


class CheckDetailSerializer(CheckSerializer):
    """A check with its readings and everything that was corrected."""

    readings = ReadingSerializer(many=True)
    amendments = AmendmentSerializer(many=True)


class AssessmentSerializer(serializers.ModelSerializer[Assessment]):
    """One verdict, current or earlier, with the whole result: budget, voids, curve, advice."""

    moment = serializers.CharField(source="stroke.moment")

    class Meta:
        model = Assessment
        fields = [
            "pk", "moment", "is_current", "basis", "state", "specification", "travel_mm", "standard_uncertainty_mm",
            "expanded_uncertainty_mm", "p_inside", "certificates", "publication", "code_version", "made_at",
            "result",
        ]  # fmt: skip
