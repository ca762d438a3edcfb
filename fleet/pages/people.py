"""Who may do what at which depot: the list, its forms, and the end of a membership."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views import View

from fleet.models import Membership
from fleet.pages.base import Asked
from fleet.pages.depots_forms import PersonForm, RoleForm
from fleet.pages.form_page import OwnForm
from fleet.pages.forms import UserForm
from fleet.selectors.depot import person_rows
from fleet.selectors.find import visible_row
from fleet.services.membership import add_person, change_role, end_membership
from fleet.web.access import MANAGER, ManagerView, PersonRequest, ViewerView


def _membership(page: Asked) -> Membership:
    rows = Membership.objects.select_related("depot", "user")
    return visible_row(page.person, rows, page.kwargs["pk"], role=MANAGER)


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
        return _membership(self)

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
        return _membership(self)

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
