"""What programs send and receive of trips on their way in. Names carry the units; times are ISO 8601 with offset."""

from typing import Any

from rest_framework import serializers

from fleet.imports.trips.batch import CHANGED, KNOWN, MOST_ROWS, NEW, REFUSED

Shape = serializers.Serializer[Any]


class TripEntry(Shape):
    """A trip as a program sends it: `end` or `duration_s`; what is not recorded is left out or null."""

    truck = serializers.CharField(help_text="The unit number.")
    start = serializers.DateTimeField(help_text="With its offset, such as 2026-03-14T08:30:00+01:00.")
    end = serializers.DateTimeField(required=False, allow_null=True)
    duration_s = serializers.FloatField(required=False, allow_null=True)
    distance_km = serializers.FloatField()
    fuel_l = serializers.FloatField()
    payload_t = serializers.FloatField(required=False, allow_null=True)
    ascent_m = serializers.FloatField(required=False, allow_null=True)
    idle_s = serializers.FloatField(required=False, allow_null=True)
    temperature_c = serializers.FloatField(required=False, allow_null=True)
    odometer_km = serializers.FloatField(required=False, allow_null=True, help_text="At the start.")


class BatchDescription(Shape):
    """A batch as it is described; rows that cannot be are refused one by one, so they are not checked here."""

    source = serializers.CharField(max_length=60)  # type: ignore[assignment]  # the framework's own word for another thing
    rows = TripEntry(many=True, help_text=f"Up to {MOST_ROWS:,}.")


class BatchEntry(Shape):
    """The same as it is read."""

    source = serializers.CharField(max_length=60)  # type: ignore[assignment]  # the framework's own word for another thing
    rows = serializers.ListField(child=serializers.JSONField())


class RowShape(Shape):
    """What became of a row, counted from 1."""

    row = serializers.IntegerField()
    outcome = serializers.ChoiceField(choices=[NEW, CHANGED, KNOWN, REFUSED])
    reason = serializers.CharField(allow_blank=True)


class BatchShape(Shape):
    """What became of a batch: `accepted` and `refused` make up `lines`."""

    key = serializers.UUIDField()
    repeated = serializers.BooleanField(help_text="This key was answered before; nothing was written now.")
    lines = serializers.IntegerField()
    accepted = serializers.IntegerField()
    refused = serializers.IntegerField()
    rows = RowShape(many=True)


class ReasonShape(Shape):
    """A reason with the number of lines that it refused and the first of them."""

    sentence = serializers.CharField()
    lines = serializers.IntegerField()
    examples = serializers.SerializerMethodField()

    def get_examples(self, reason: Any) -> list[dict[str, Any]]:
        return [{"line": number, "original": text} for number, text in reason.examples]


class TripImportShape(Shape):
    """A file or a batch on its way in; without a job, a batch or a file that is not read yet."""

    key = serializers.UUIDField()
    name = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # the framework's own word for another thing
    sent_at = serializers.DateTimeField()
    state = serializers.CharField()
    trial = serializers.BooleanField(help_text="The counts are those of the trial run; nothing is written.")
    lines = serializers.IntegerField()
    accepted = serializers.IntegerField()
    refused = serializers.IntegerField()
    new = serializers.IntegerField()
    changed = serializers.IntegerField()
    known = serializers.IntegerField()


class ProgressShape(TripImportShape):
    """The same with how far its job is and why lines were refused."""

    percent = serializers.IntegerField(source="job.percent", default=None, allow_null=True)
    rows_per_second = serializers.FloatField(source="job.rows_per_second", default=None, allow_null=True)
    seconds_left = serializers.FloatField(source="job.seconds_left", default=None, allow_null=True)
    error = serializers.CharField(source="job.error", default="", allow_blank=True)
    reasons = ReasonShape(source="told.reasons", many=True)
