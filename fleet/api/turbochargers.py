"""Turbocharger models and turbochargers for programs."""

from typing import Any

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema, extend_schema_view

from fleet.api import entries, shapes
from fleet.api.base import ManagedListing, ManagedSingle
from fleet.models import Turbocharger, TurbochargerModel
from fleet.services.turbocharger import add_model, add_turbocharger, edit_model, edit_turbocharger
from fleet.web.filtering import Filters


class TurbochargerFilter(Filters):
    """Which turbochargers are asked for."""

    depot = filters.CharFilter(field_name="depot__code")

    class Meta:
        model = Turbocharger
        fields = ["depot", "serial", "model", "origin"]


@extend_schema_view(post=extend_schema(request=entries.ModelEntry, responses={201: shapes.ModelShape}))
class Models(ManagedListing):
    """All turbocharger models; they are shared by the depots."""

    entry_class, shape_class = entries.ModelEntry, shapes.ModelShape

    def get_queryset(self) -> QuerySet[TurbochargerModel]:
        return TurbochargerModel.objects.all()

    def add(self, user: Any, typed: dict[str, Any]) -> TurbochargerModel:
        return add_model(user=user, **typed)


@extend_schema_view(patch=extend_schema(request=entries.ModelEntry, responses=shapes.ModelShape))
class ModelDetail(ManagedSingle):
    """One model."""

    entry_class, shape_class = entries.ModelEntry, shapes.ModelShape

    def get_queryset(self) -> QuerySet[TurbochargerModel]:
        return TurbochargerModel.objects.all()

    def edit(self, user: Any, row: TurbochargerModel, typed: dict[str, Any]) -> TurbochargerModel:
        return edit_model(user=user, model=row, **typed)


@extend_schema_view(post=extend_schema(request=entries.TurbochargerEntry, responses={201: shapes.TurbochargerShape}))
class Turbochargers(ManagedListing):
    """Turbochargers of the sender's depots."""

    rows, filterset_class = Turbocharger.objects.select_related("model"), TurbochargerFilter
    entry_class, shape_class = entries.TurbochargerEntry, shapes.TurbochargerShape

    def add(self, user: Any, typed: dict[str, Any]) -> Turbocharger:
        return add_turbocharger(user=user, **typed)


@extend_schema_view(patch=extend_schema(request=entries.TurbochargerChange, responses=shapes.TurbochargerShape))
class TurbochargerDetail(ManagedSingle):
    """One turbocharger."""

    rows = Turbocharger.objects.select_related("model", "depot")
    entry_class, shape_class = entries.TurbochargerChange, shapes.TurbochargerShape

    def edit(self, user: Any, row: Turbocharger, typed: dict[str, Any]) -> Turbocharger:
        return edit_turbocharger(user=user, turbocharger=row, **typed)
