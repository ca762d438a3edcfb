"""Depots, and who may do what at each."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views import View

from fleet.models import Depot, Membership
from fleet.pages.base import Asked, RegisterForm
from fleet.pages.forms import DepotForm, PersonForm, RoleForm, UserForm
from fleet.selectors.depot import depot_rows, person_rows
from fleet.selectors.find import visible_row
from fleet.selectors.scope import depots_of, holds
from fleet.services.depot import add_depot, edit_depot
from fleet.services.membership import add_person, change_role, end_membership
from fleet.web.access import MANAGER, ManagerView, PersonRequest, ViewerView


class Depots(ViewerView, View):
    """The person's depots with what each holds."""

    def get(self, request: PersonRequest) -> HttpResponse:
        return render(
            request, "fleet/depots.html", {"rows": depot_rows(request.user), "manages": holds(request.user, MANAGER)}
        )


class OwnForm(RegisterForm):
    """A form that knows its user."""

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"user": self.person}


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


class People(ViewerView, View):
    """Everybody at the person's depots."""

    def get(self, request: PersonRequest) -> HttpResponse:
        rows = person_rows(request.user)
        return render(request, "fleet/people.html", {"rows": rows, "manages": any(row.managed for row in rows)})


class AddPerson(ManagerView, OwnForm):
    form_class: type[UserForm] = PersonForm
    title = "Add a person to a depot"
    lead = "A viewer reads, a technician also records the work of the bay, a manager also keeps the register."
    done = "The person belongs to the depot now."

    def serve(self, typed: dict[str, Any]) -> str:
        add_person(user=self.person, **typed)
        return self.back()

    def back(self) -> str:
        return reverse("fleet:people")


class ChangeRole(AddPerson):
    form_class = RoleForm
    title = "Change what a person may do"
    done = "Saved."

    @property
    def membership(self) -> Membership:
        rows = Membership.objects.select_related("depot", "user")
        return visible_row(self.person, rows, self.kwargs["pk"], role=MANAGER)

    def get_initial(self) -> dict[str, Any]:
        return {"role": self.membership.role}

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        held = self.membership
        return super().get_context_data(**context) | {"title": f"{held.user.display_name} at {held.depot}"}

    def serve(self, typed: dict[str, Any]) -> str:
        change_role(user=self.person, membership=self.membership, **typed)
        return self.back()


class EndMembership(ManagerView, Asked):
    """Take a person off a depot, after asking."""

    def row(self) -> Membership:
        rows = Membership.objects.select_related("depot", "user")
        return visible_row(self.person, rows, self.kwargs["pk"], role=MANAGER)

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        held = self.row()
        words = {
            "title": f"Take {held.user.display_name} off {held.depot}?",
            "lead": "The person sees this depot no more. What the person recorded stays.",
            "submit": "Take off",
            "back": reverse("fleet:people"),
        }
        return render(request, "fleet/confirm.html", words)

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        end_membership(user=request.user, membership=self.row())
        messages.success(request, "The person no longer belongs to the depot.")
        return redirect("fleet:people")
