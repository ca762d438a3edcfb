"""What programs send of the register. Rows are named by id, and the sender must see them; services judge the rest."""

from typing import Any

from django.db.models import Model, QuerySet
from rest_framework import serializers

from fleet.api.strict import Entry
from fleet.models import Depot, Engine, Fitment, Truck, Turbocharger, TurbochargerModel
from fleet.selectors.scope import depots_of, visible_to


class Visible(serializers.PrimaryKeyRelatedField[Any]):
    """A row at one of the sender's depots, by its id."""

    def __init__(self, model: type[Model], **options: Any) -> None:
        self.model = model
        super().__init__(queryset=model._default_manager.none(), **options)

    def get_queryset(self) -> QuerySet[Any]:
        request = self.context.get("request")
        if request is None:
            return self.model._default_manager.none()
        if self.model is Depot:
            return depots_of(request.user)
        if self.model is TurbochargerModel:
            return TurbochargerModel.objects.all()
        return visible_to(request.user, self.model._default_manager.select_related("depot"))


class TypedNumber(Entry):
    """A number as typed, with its unit."""

    text = serializers.CharField(max_length=24)
    unit = serializers.CharField(max_length=8)


class MeterEntry(Entry):
    """What a truck's meters show; either may be missing."""

    odometer = TypedNumber(required=False, allow_null=True)
    engine_hours = TypedNumber(required=False, allow_null=True)


class DepotEntry(Entry):
    code = serializers.SlugField(max_length=12)
    name = serializers.CharField(max_length=80)
    time_zone = serializers.CharField(max_length=64, required=False)
    checks_per_day = serializers.IntegerField(min_value=0, max_value=999, required=False)
    working_days = serializers.CharField(
        max_length=7, required=False, help_text="Digits of the days on which the bay works, Monday 1 to Sunday 7."
    )


class TruckEntry(Entry):
    depot = Visible(Depot)
    unit_number = serializers.CharField(max_length=24)
    vin = serializers.CharField(max_length=40, required=False, allow_blank=True)
    check_digit = serializers.ChoiceField(choices=Truck.CheckDigit.choices, required=False)
    description = serializers.CharField(max_length=120, required=False, allow_blank=True)
    in_service_on = serializers.DateField()


class TruckChange(TruckEntry):
    retired_on = serializers.DateField(required=False, allow_null=True)
    reason = serializers.CharField(max_length=100, required=False, allow_blank=True)


class EngineEntry(Entry):
    depot = Visible(Depot)
    serial = serializers.CharField(max_length=40)
    model = serializers.CharField(max_length=60)
    layout = serializers.ChoiceField(choices=Engine.Layout.choices, required=False)


class InstallEntry(Entry):
    truck = Visible(Truck)
    installed_on = serializers.DateField()


class UninstallEntry(Entry):
    removed_on = serializers.DateField()


class ModelEntry(Entry):
    name = serializers.CharField(max_length=60)
    stimulus = serializers.ChoiceField(choices=TurbochargerModel.Stimulus.choices)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)


class TurbochargerEntry(Entry):
    depot = Visible(Depot)
    serial = serializers.CharField(max_length=40)
    model = Visible(TurbochargerModel)
    origin = serializers.ChoiceField(choices=Turbocharger.Origin.choices, required=False)
    received_on = serializers.DateField()


class TurbochargerChange(TurbochargerEntry):
    scrapped_on = serializers.DateField(required=False, allow_null=True)
    reason = serializers.CharField(max_length=100, required=False, allow_blank=True)


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
