"""What happened, for programs: installations, fitments, meters, notes."""

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import generics

from fleet.api import events_entries as entries
from fleet.api import shapes
from fleet.api.base import Action, Listing, OfDepots
from fleet.models import Engine, Fitment, Installation, MeterReading, Note, Turbocharger
from fleet.services.engine import install_engine, uninstall_engine
from fleet.services.fitment import fit_turbocharger, remove_turbocharger, swap_turbocharger
from fleet.services.meter import meter_of, record_meter_reading
from fleet.services.turbocharger import add_note


@extend_schema_view(post=extend_schema(request=entries.InstallEntry, responses={201: shapes.InstallationShape}))
class Install(Action):
    """Put an engine into a truck."""

    rows, done_status = Engine.objects.select_related("depot"), 201
    entry_class, shape_class = entries.InstallEntry, shapes.InstallationShape

    def do(self, user: Any, row: Engine, typed: dict[str, Any]) -> Installation:
        return install_engine(user=user, engine=row, **typed)


@extend_schema_view(post=extend_schema(request=entries.UninstallEntry, responses=shapes.InstallationShape))
class Uninstall(Action):
    """Take an engine out of its truck."""

    rows = Engine.objects.select_related("depot")
    entry_class, shape_class = entries.UninstallEntry, shapes.InstallationShape

    def do(self, user: Any, row: Engine, typed: dict[str, Any]) -> Installation:
        return uninstall_engine(user=user, engine=row, **typed)


class Fitments(OfDepots, generics.ListAPIView[Fitment]):
    """Fitments of the turbochargers at the sender's depots."""

    rows, depot, shape_class = Fitment.objects.all(), "turbocharger__depot", shapes.FitmentShape
    filterset_fields = ["turbocharger", "engine"]


@extend_schema_view(post=extend_schema(request=entries.FitEntry, responses={201: shapes.FitmentShape}))
class Fit(Action):
    """Fit a turbocharger to an engine."""

    rows, done_status = Turbocharger.objects.select_related("depot"), 201
    entry_class, shape_class = entries.FitEntry, shapes.FitmentShape

    def do(self, user: Any, row: Turbocharger, typed: dict[str, Any]) -> Fitment:
        where = {name: typed[name] for name in ("engine", "position", "fitted_on")}
        return fit_turbocharger(user=user, turbocharger=row, meter=meter_of(typed), **where)


@extend_schema_view(post=extend_schema(request=entries.RemoveEntry, responses=shapes.FitmentShape))
class Remove(Action):
    """Take a turbocharger off its engine."""

    rows = Turbocharger.objects.select_related("depot")
    entry_class, shape_class = entries.RemoveEntry, shapes.FitmentShape

    def do(self, user: Any, row: Turbocharger, typed: dict[str, Any]) -> Fitment:
        why = {"removed_on": typed["removed_on"], "reason": typed.get("reason", "")}
        return remove_turbocharger(user=user, turbocharger=row, meter=meter_of(typed), **why)


@extend_schema_view(post=extend_schema(request=entries.SwapEntry, responses={201: shapes.FitmentShape}))
class Swap(Action):
    """Take a turbocharger off and fit another in its place, at one date and meter; answers with the new fitment."""

    rows, done_status = Turbocharger.objects.select_related("depot"), 201
    entry_class, shape_class = entries.SwapEntry, shapes.FitmentShape

    def do(self, user: Any, row: Turbocharger, typed: dict[str, Any]) -> Fitment:
        how = {"on": typed["on"], "swapped_on": typed["swapped_on"], "reason": typed.get("reason", "")}
        return swap_turbocharger(user=user, off=row, meter=meter_of(typed), **how)


@extend_schema_view(post=extend_schema(request=entries.MeterReadingEntry, responses={201: shapes.MeterReadingShape}))
class MeterReadings(Listing):
    """Meter readings of the trucks at the sender's depots."""

    rows, depot, filterset_fields = MeterReading.objects.all(), "truck__depot", ["truck"]
    entry_class, shape_class = entries.MeterReadingEntry, shapes.MeterReadingShape

    def add(self, user: Any, typed: dict[str, Any]) -> MeterReading:
        given = {name: typed[name] for name in ("truck", "read_at", "replaced_meter") if name in typed}
        return record_meter_reading(user=user, meter=meter_of(typed), source="program", **given)


@extend_schema_view(post=extend_schema(request=entries.NoteEntry, responses={201: shapes.NoteShape}))
class Notes(Listing):
    """Notes on the turbochargers at the sender's depots."""

    rows, depot, filterset_fields = Note.objects.select_related("author"), "turbocharger__depot", ["turbocharger"]
    entry_class, shape_class = entries.NoteEntry, shapes.NoteShape

    def add(self, user: Any, typed: dict[str, Any]) -> Note:
        return add_note(user=user, **typed)
