"""Trucks: the list, one truck, its forms and its meters."""

from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views import View

from fleet.models import Truck
from fleet.pages.base import RegisterList, may_at
from fleet.pages.bay_forms import MeterReadingForm
from fleet.pages.form_page import OfRow, OwnForm
from fleet.pages.forms import TruckEditForm, TruckFilters, TruckForm
from fleet.selectors.truck import truck_detail, truck_row, trucks_for
from fleet.services.meter import meter_of, record_meter_reading
from fleet.services.truck import add_truck, edit_truck
from fleet.web.access import MANAGER, ManagerView, PersonRequest, TechnicianView, ViewerView


class Trucks(RegisterList):
    template = "fleet/trucks.html"
    order = ("unit_number",)
    filters = TruckFilters
    row = staticmethod(truck_row)

    def found(self, wanted: dict[str, Any]) -> QuerySet[Truck]:
        depot = wanted.get("depot")
        return trucks_for(
            self.person, find=wanted.get("find", ""), depot=depot.pk if depot else None,
            retired=bool(wanted.get("retired")),
        )  # fmt: skip


class TruckPage(ViewerView, View):
    """One truck: what it carries, what its meters read, what was said of it."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        detail = truck_detail(request.user, pk)
        may = may_at(detail.truck.depot, request.user)
        return render(request, "fleet/truck.html", {"detail": detail, "truck": detail.truck, **may})


class AddTruck(ManagerView, OwnForm):
    form_class = TruckForm
    title = "Add a truck"
    lead = "Its engine is installed next; the turbochargers are fitted to the engine."
    done = "The truck is in the register."

    def serve(self, typed: dict[str, Any]) -> str:
        truck = add_truck(user=self.person, **typed)
        return reverse("fleet:truck", args=[truck.pk])

    def back(self) -> str:
        return reverse("fleet:trucks")


class OfTruck(OfRow):
    """A form about one truck."""

    rows = Truck.objects.select_related("depot")
    known_by = "unit_number"
    page = "fleet:truck"


class EditTruck(ManagerView, OfTruck):
    role_on_row = MANAGER
    form_class = TruckEditForm
    title = "Correct truck"
    lead = "A truck that moves to another depot takes its engine and turbochargers with it."
    corrected = ("unit_number", "depot", "description", "vin", "check_digit", "in_service_on", "retired_on")

    def serve(self, typed: dict[str, Any]) -> str:
        edit_truck(user=self.person, truck=self.row, **typed)
        return self.back()


class AddMeterReading(TechnicianView, OfTruck):
    form_class = MeterReadingForm
    title = "Meters of truck"
    done = "The reading is kept as typed."

    def get_initial(self) -> dict[str, Any]:
        return {"read_at": timezone.localtime(timezone=ZoneInfo(self.row.depot.time_zone)).replace(tzinfo=None)}

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        depot = self.row.depot
        return super().get_context_data(**context) | {"lead": f"Times are those of {depot.name} ({depot.time_zone})."}

    def serve(self, typed: dict[str, Any]) -> str:
        truck = self.row
        at = typed["read_at"].replace(tzinfo=ZoneInfo(truck.depot.time_zone))
        record_meter_reading(
            user=self.person, truck=truck, read_at=at, meter=meter_of(typed),
            replaced_meter=typed["replaced_meter"],
        )  # fmt: skip
        return self.back()
