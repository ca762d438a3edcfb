"""Depots, trucks and engines for programs."""

from typing import Any

from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema, extend_schema_view

from fleet.api import entries, shapes
from fleet.api.base import ManagedListing, ManagedSingle
from fleet.models import Depot, Engine, Truck
from fleet.services.depot import add_depot, edit_depot
from fleet.services.engine import add_engine, edit_engine
from fleet.services.truck import add_truck, edit_truck
from fleet.web.filtering import Filters, YesNo


class TruckFilter(Filters):
    """Which trucks are asked for."""

    depot = filters.CharFilter(field_name="depot__code")
    retired = YesNo(field_name="retired_on", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Truck
        fields = ["depot", "unit_number", "vin"]


class EngineFilter(Filters):
    """Which engines are asked for."""

    depot = filters.CharFilter(field_name="depot__code")

    class Meta:
        model = Engine
        fields = ["depot", "serial", "layout"]


@extend_schema_view(post=extend_schema(request=entries.DepotEntry, responses={201: shapes.DepotShape}))
class Depots(ManagedListing):
    """The sender's depots."""

    rows, depot = Depot.objects.all(), "pk"
    entry_class, shape_class = entries.DepotEntry, shapes.DepotShape

    def add(self, user: Any, typed: dict[str, Any]) -> Depot:
        return add_depot(user=user, **typed)


@extend_schema_view(patch=extend_schema(request=entries.DepotEntry, responses=shapes.DepotShape))
class DepotDetail(ManagedSingle):
    """One depot."""

    rows, depot = Depot.objects.all(), "pk"
    entry_class, shape_class = entries.DepotEntry, shapes.DepotShape

    def edit(self, user: Any, row: Depot, typed: dict[str, Any]) -> Depot:
        return edit_depot(user=user, depot=row, **typed)


@extend_schema_view(post=extend_schema(request=entries.TruckEntry, responses={201: shapes.TruckShape}))
class Trucks(ManagedListing):
    """Trucks of the sender's depots."""

    rows, filterset_class = Truck.objects.all(), TruckFilter
    entry_class, shape_class = entries.TruckEntry, shapes.TruckShape

    def add(self, user: Any, typed: dict[str, Any]) -> Truck:
        return add_truck(user=user, **typed)


@extend_schema_view(patch=extend_schema(request=entries.TruckChange, responses=shapes.TruckShape))
class TruckDetail(ManagedSingle):
    """One truck."""

    rows = Truck.objects.select_related("depot")
    entry_class, shape_class = entries.TruckChange, shapes.TruckShape

    def edit(self, user: Any, row: Truck, typed: dict[str, Any]) -> Truck:
        return edit_truck(user=user, truck=row, **typed)


@extend_schema_view(post=extend_schema(request=entries.EngineEntry, responses={201: shapes.EngineShape}))
class Engines(ManagedListing):
    """Engines of the sender's depots."""

    rows, filterset_class = Engine.objects.all(), EngineFilter
    entry_class, shape_class = entries.EngineEntry, shapes.EngineShape

    def add(self, user: Any, typed: dict[str, Any]) -> Engine:
        return add_engine(user=user, **typed)


@extend_schema_view(patch=extend_schema(request=entries.EngineEntry, responses=shapes.EngineShape))
class EngineDetail(ManagedSingle):
    """One engine."""

    rows = Engine.objects.select_related("depot")
    entry_class, shape_class = entries.EngineEntry, shapes.EngineShape

    def edit(self, user: Any, row: Engine, typed: dict[str, Any]) -> Engine:
        return edit_engine(user=user, engine=row, **typed)
