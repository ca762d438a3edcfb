"""Depots: the list, and their forms."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from fleet.models import Depot
from fleet.pages.depots_forms import DepotForm
from fleet.pages.form_page import OwnForm
from fleet.selectors.depot import depot_rows
from fleet.selectors.find import visible_row
from fleet.selectors.scope import depots_of
from fleet.services.depot import add_depot, edit_depot
from fleet.web.access import MANAGER, ManagerView, PersonRequest, ViewerView


class Depots(ViewerView, View):
    """The person's depots with what each holds."""

    def get(self, request: PersonRequest) -> HttpResponse:
        return render(request, "fleet/depots.html", {"rows": depot_rows(request.user)})


class AddDepot(ManagerView, OwnForm):
    form_class = DepotForm
    title = "Add a depot"
    lead = "You become its manager and can add its people next."
    done = "The depot is in the register."

    def get_initial(self) -> dict[str, Any]:
        zone = depots_of(self.person).order_by("pk").values_list("time_zone", flat=True).first()
        return {"time_zone": zone} if zone else {}

    def serve(self, typed: dict[str, Any]) -> str:
        add_depot(user=self.person, **typed)
        return self.back()

    def back(self) -> str:
        return reverse("fleet:depots")


class EditDepot(AddDepot):
    title = "Correct a depot"
    lead = "Every change is kept with your name."
    done = "Saved."

    @property
    def depot(self) -> Depot:
        return visible_row(self.person, Depot.objects.all(), self.kwargs["pk"], depot="pk", role=MANAGER)

    def get_initial(self) -> dict[str, Any]:
        depot = self.depot
        names = ("name", "code", "time_zone", "checks_per_day")
        return {name: getattr(depot, name) for name in names} | {"working_days": list(depot.working_days)}

    def serve(self, typed: dict[str, Any]) -> str:
        edit_depot(user=self.person, depot=self.depot, **typed)
        return self.back()
