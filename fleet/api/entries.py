"""What programs send of the register. Rows are named by id, and the sender must see them; services judge the rest."""

from typing import Any

from django.db.models import Model, QuerySet
from rest_framework import serializers

from fleet.api.strict import Entry
from fleet.models import Depot, Engine, Truck, Turbocharger, TurbochargerModel
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
