"""What programs send of what happened: installations, fitments, meters, notes."""

from rest_framework import serializers

from fleet.api.entries import Visible
from fleet.api.strict import Entry
from fleet.models import Engine, Fitment, Truck, Turbocharger


class TypedNumber(Entry):
    """A number as typed, with its unit."""

    text = serializers.CharField(max_length=24)
    unit = serializers.CharField(max_length=8)


class MeterEntry(Entry):
    """What a truck's meters show; either may be missing."""

    odometer = TypedNumber(required=False, allow_null=True)
    engine_hours = TypedNumber(required=False, allow_null=True)


class InstallEntry(Entry):
    truck = Visible(Truck)
    installed_on = serializers.DateField()


class UninstallEntry(Entry):
    removed_on = serializers.DateField()


class FitEntry(MeterEntry):
    engine = Visible(Engine)
    position = serializers.ChoiceField(choices=Fitment.Position.choices)
    fitted_on = serializers.DateField()


class RemoveEntry(MeterEntry):
    removed_on = serializers.DateField()
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class SwapEntry(MeterEntry):
    on = Visible(Turbocharger, help_text="The one that goes on: from stock, or the twin on the same engine.")
    swapped_on = serializers.DateField()
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class MeterReadingEntry(MeterEntry):
    truck = Visible(Truck)
    read_at = serializers.DateTimeField()
    replaced_meter = serializers.BooleanField(required=False)


class NoteEntry(Entry):
    turbocharger = Visible(Turbocharger)
    text = serializers.CharField(max_length=4000)
