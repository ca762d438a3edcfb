"""Trips: what is on record, and files of trips on their way in."""

import uuid
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.imports.trips.manner import ITEMS
from fleet.imports.trips.progress import files_of
from fleet.imports.trips.sending import begin_import, refused_report
from fleet.models import Trip
from fleet.pages.base import RegisterList
from fleet.pages.form_page import OwnForm
from fleet.pages.trips_forms import BringForm, TripFilters
from fleet.pages.trips_words import source_rows
from fleet.selectors.scope import holds
from fleet.selectors.trip_lists import depot_trips, trip_row, trips_for
from fleet.selectors.trips import sources
from fleet.web.access import MANAGER, ManagerView, PersonRequest, ViewerView
from fleet.web.files import csv_answer
from fleet.web.pagination import first_key


class Trips(ViewerView, View):
    """What trips each depot has, what lacks, and the person's files."""

    def get(self, request: PersonRequest) -> HttpResponse:
        manages = holds(request.user, MANAGER)
        depots = depot_trips(request.user)
        context = {
            "depots": depots,
            "trips": sum(row.trips for row in depots),
            "first": min((row.first_on for row in depots if row.first_on), default=None),
            "last": max((row.last_on for row in depots if row.last_on), default=None),
            "gaps": [row for row in depots if row.lacking],
            "none": [row for row in depots if row.trucks and not row.trips],
            "manages": manages,
            "files": files_of(request.user) if manages else [],
            "sources": source_rows(sources()) if manages else [],
        }
        return render(request, "fleet/trips/trips.html", context)


class TripList(RegisterList):
    """Trips one by one: of one truck the latest first, else truck by truck."""

    template = "fleet/trips/list.html"
    filters = TripFilters
    row = staticmethod(trip_row)

    @property
    def order(self) -> tuple[str, ...]:  # type: ignore[override]
        # Both are read straight from the primary key.
        return ("-started_s", "truck_id") if self.request.GET.get("truck", "").strip() else ("truck_id", "started_s")

    def found(self, wanted: dict[str, Any]) -> QuerySet[Trip]:
        depot, mark = wanted.pop("depot", None), self.request.GET.get("after", "")
        first = first_key(mark, self.order) if self.order[0] == "truck_id" else 0
        return trips_for(self.person, depot=depot.pk if depot else None, first_truck=first, **wanted)


class BringTrips(ManagerView, OwnForm):
    """Send a file; how it reads is the next page."""

    costly = ("POST",)
    template_name = "fleet/trips/bring.html"
    form_class = BringForm
    title = "Bring in a file of trips"
    lead = "Next you see how the file reads. Nothing is written before you say so."
    submit = "Show how it reads"
    done = ""

    def serve(self, typed: dict[str, Any]) -> str:
        upload = typed["file"]
        sent = begin_import(user=self.person, source=typed["source"], name=upload.name, upload=upload)
        return reverse("fleet:trip_reading", args=[sent.key])

    def get_initial(self) -> dict[str, Any]:
        return {"source": self.request.GET.get("source", "")[:60]}

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        words = super().get_context_data(**context)
        return words | {"items": ITEMS, "suggestions": words["form"].known}

    def back(self) -> str:
        return reverse("fleet:trips")


class RefusedTrips(ManagerView, View):
    """The refused lines as a file, part by part however long it is."""

    def get(self, request: PersonRequest, key: uuid.UUID) -> StreamingHttpResponse:
        return csv_answer("refused-trips.csv", refused_report(request.user, key))
