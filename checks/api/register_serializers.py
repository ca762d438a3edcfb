"""What programs receive and send of specifications, instruments and certificates; values in kPa or %, mm."""

from typing import Any

from rest_framework import serializers

from checks.api.serializers import QuantitySerializer
from checks.models import Certificate, CertificatePoint, Instrument, Policy, SpecificationRevision


class SpecificationSerializer(serializers.ModelSerializer[SpecificationRevision]):
    """A revision in stored units, with what was typed."""

    model = serializers.CharField(source="turbocharger_model.name", read_only=True)
    stimulus = serializers.CharField(source="turbocharger_model.stimulus", read_only=True)

    class Meta:
        model = SpecificationRevision
        fields = [
            "id",
            "turbocharger_model",
            "model",
            "stimulus",
            "revision",
            "setting",
            "stimulus_max",
            "capture_tolerance",
            "lower_mm",
            "nominal_mm",
            "upper_mm",
            "zero_tolerance_stimulus",
            "zero_tolerance_mm",
            "exercise_cycles",
            "thread_pitch_mm",
            "adjustment_sign",
            "adjustment_range_half_turns",
            "source_document",
            "source_revision",
            "effective_from",
            "effective_to",
            "note",
            "typed",
            "made_at",
        ]


class SpecificationEntrySerializer(serializers.Serializer[Any]):
    """A new revision; quantities as typed. ``confirmed`` takes values that look mistaken."""

    turbocharger_model = serializers.IntegerField()
    revision = serializers.CharField()
    source_document = serializers.CharField()
    source_revision = serializers.CharField(required=False, allow_blank=True)
    effective_from = serializers.DateField()
    note = serializers.CharField(required=False, allow_blank=True)
    setting = QuantitySerializer()
    stimulus_max = QuantitySerializer()
    capture_tolerance = QuantitySerializer()
    lower_mm = QuantitySerializer()
    nominal_mm = QuantitySerializer()
    upper_mm = QuantitySerializer()
    zero_tolerance_stimulus = QuantitySerializer()
    zero_tolerance_mm = QuantitySerializer()
    exercise_cycles = serializers.IntegerField()
    thread_pitch_mm = QuantitySerializer(required=False)
    adjustment_sign = serializers.ChoiceField(choices=[1, -1])
    adjustment_range_half_turns = serializers.IntegerField()
    confirmed = serializers.BooleanField(required=False)


class InstrumentSerializer(serializers.ModelSerializer[Instrument]):
    """An instrument in stored units, with what was typed and the certificate that counts today."""

    depot = serializers.CharField(source="depot.code", read_only=True)
    calibration = serializers.SerializerMethodField()
    due_on = serializers.SerializerMethodField()

    class Meta:
        model = Instrument
        fields = [
            "id",
            "depot",
            "label",
            "kind",
            "description",
            "division",
            "read_to",
            "range_low",
            "range_high",
            "permissible_error",
            "error_share",
            "electrical_unit",
            "sensitivity",
            "offset",
            "typed",
            "withdrawn_on",
            "calibration",
            "due_on",
        ]

    def get_calibration(self, row: Instrument) -> str:
        """One of: out of date, no certificate, due soon, in date, needs none, withdrawn."""
        return str(self.context["rows"][row.pk].word)

    def get_due_on(self, row: Instrument) -> str | None:
        """The due date of the certificate that counts."""
        due = self.context["rows"][row.pk].due_on
        return due.isoformat() if due else None


class InstrumentEntrySerializer(serializers.Serializer[Any]):
    """A new instrument; ``depot`` is its key, and each kind reads its own quantities of the form."""

    kind = serializers.ChoiceField(choices=Instrument.Kind.choices)
    depot = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]  # the framework's own word for another thing
    description = serializers.CharField(required=False, allow_blank=True)
    division = QuantitySerializer(required=False)
    read_to = serializers.CharField(required=False)
    range_low = QuantitySerializer(required=False)
    range_high = QuantitySerializer(required=False)
    permissible_error = QuantitySerializer(required=False)
    error_share = QuantitySerializer(required=False)
    electrical_unit = serializers.CharField(required=False)
    sensitivity = QuantitySerializer(required=False)
    offset = QuantitySerializer(required=False)


class PointSerializer(serializers.ModelSerializer[CertificatePoint]):
    """One calibrated point in stored units."""

    class Meta:
        model = CertificatePoint
        fields = ["moment", "indication", "error", "expanded_uncertainty", "coverage_factor", "typed"]


class CertificateSerializer(serializers.ModelSerializer[Certificate]):
    """A certificate with its points."""

    points = PointSerializer(many=True, read_only=True)

    class Meta:
        model = Certificate
        fields = ["id", "number", "laboratory", "issued_on", "due_on", "note", "superseded_reason", "points"]


class PointEntrySerializer(serializers.Serializer[Any]):
    """A point as typed: either its error or its reference value."""

    moment = serializers.ChoiceField(choices=CertificatePoint.Moment.choices)
    indication = serializers.CharField()
    error = serializers.CharField(required=False)
    reference = serializers.CharField(required=False)
    expanded_uncertainty = serializers.CharField()
    coverage_factor = serializers.CharField(required=False)


class CertificateEntrySerializer(serializers.Serializer[Any]):
    """A new certificate; all points in one ``unit``."""

    number = serializers.CharField()
    laboratory = serializers.CharField(required=False, allow_blank=True)
    issued_on = serializers.DateField()
    due_on = serializers.DateField()
    note = serializers.CharField(required=False, allow_blank=True)
    unit = serializers.CharField()
    given = serializers.ChoiceField(choices=["error", "reference"], required=False)
    not_adjusted = serializers.BooleanField(required=False)
    points = PointEntrySerializer(many=True)
    confirmed = serializers.BooleanField(required=False)


class PolicySerializer(serializers.ModelSerializer[Policy]):
    """The fleet's policy; distances in km."""

    class Meta:
        model = Policy
        exclude = ["id"]
