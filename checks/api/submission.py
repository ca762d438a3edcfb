"""What programs send of a check, as it was typed. Describes the payload; the service reads it."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request

from fleet.api.strict import object_sent
from fleet.problems import FleetError
from fleet.web.idempotency import HEADER, key_of


class QuantitySerializer(serializers.Serializer[Any]):
    """A number as typed, with its unit."""

    text = serializers.CharField()
    unit = serializers.CharField()


class ReadingInSerializer(serializers.Serializer[Any]):
    """One pair of indications in the order made."""

    phase = serializers.CharField()
    stimulus = QuantitySerializer()
    travel = QuantitySerializer(allow_null=True, required=False)
    seconds = serializers.CharField(allow_null=True, required=False, help_text="For a hold: since the supply closed.")


class StrokeInSerializer(serializers.Serializer[Any]):
    """One stroke, as found or as left."""

    readings = ReadingInSerializer(many=True)


class SubmissionSerializer(serializers.Serializer[Any]):
    """A signed check. Describes the payload only: the service reads it, so that every way in is judged alike."""

    key = serializers.UUIDField(required=False, allow_null=True, help_text="Or send it as the header Idempotency-Key.")
    turbocharger = serializers.IntegerField()
    specification = serializers.IntegerField(help_text="The revision by which the stroke was made.")
    reason = serializers.CharField()
    complaint = serializers.IntegerField(allow_null=True, required=False)
    made_at = serializers.DateTimeField()
    odometer = QuantitySerializer(allow_null=True, required=False)
    engine_hours = QuantitySerializer(allow_null=True, required=False)
    instruments = serializers.DictField(child=serializers.IntegerField(allow_null=True))
    alignment = serializers.DictField(child=serializers.CharField(allow_null=True))
    cautions_read_at = serializers.DateTimeField()
    as_found = StrokeInSerializer()
    half_turns = serializers.IntegerField(allow_null=True, required=False)
    as_left = StrokeInSerializer(allow_null=True, required=False)
    note = serializers.CharField(allow_blank=True, required=False)
    source = serializers.CharField(required=False)  # type: ignore[assignment]


KEY = OpenApiParameter(
    HEADER,
    OpenApiTypes.UUID,
    OpenApiParameter.HEADER,
    description="The check's own UUID, unless the body has it as `key`; sent again it answers with the same check.",
)


def with_key(request: Request) -> dict[str, Any]:
    """The payload with its key, which may come in the header instead."""
    sent = object_sent(request, SubmissionSerializer)
    if HEADER not in request.headers:
        return sent
    key = str(key_of(request._request))
    if sent.get("key") not in (None, "", key):
        raise FleetError("two_keys", "key", f"The header {HEADER} and the key of the check differ. Send one of them.")
    return sent | {"key": key}
