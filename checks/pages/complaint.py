"""Filing a complaint in two taps, amending it, closing it."""

from typing import Any

from django.http import Http404
from django.urls import reverse

from checks.pages.complaint_forms import AmendForm, CloseForm, FileForm
from checks.selectors.complaint import truck_with
from checks.services.complaint import correct_complaint, file_complaint, settle_complaint
from fleet.models import Complaint, Depot, Truck, Turbocharger
from fleet.pages.form_page import OwnForm
from fleet.selectors.find import visible_row
from fleet.web.access import MANAGER, TECHNICIAN, ManagerView, TechnicianView


class FileComplaint(TechnicianView, OwnForm):
    """What is wrong with a truck: one button for each kind, and the button files it."""

    template_name = "checks/complaint_file.html"
    form_class = FileForm
    done = "The complaint is open."

    @property
    def truck(self) -> Truck:
        return visible_row(self.person, Truck.objects.select_related("depot"), self.kwargs["pk"], role=TECHNICIAN)

    @property
    def at_depot(self) -> Depot:
        return self.truck.depot

    def serve(self, typed: dict[str, Any]) -> str:
        complaint = file_complaint(user=self.person, truck=self.truck, **typed)
        return reverse("reports:complaint", args=[complaint.pk])

    def back(self) -> str:
        return reverse("fleet:truck", args=[self.truck.pk])

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        words = {"truck": self.truck, "kinds": Complaint.Kind.choices}
        return super().get_context_data(**context) | words


class FileComplaintOfUnit(FileComplaint):
    """The same, from the turbocharger that the truck carries."""

    @property
    def truck(self) -> Truck:
        unit = visible_row(self.person, Turbocharger.objects.all(), self.kwargs["pk"], role=TECHNICIAN)
        truck = truck_with(unit)
        if truck is None:
            raise Http404("This turbocharger is on no truck, and complaints are about trucks.")
        return truck

    def back(self) -> str:
        return reverse("reports:unit", args=[self.kwargs["pk"]])


class OfComplaint(OwnForm):
    """A form about one complaint."""

    role_on_it = TECHNICIAN

    @property
    def complaint(self) -> Complaint:
        rows = Complaint.objects.select_related("truck__depot")
        return visible_row(self.person, rows, self.kwargs["pk"], depot="truck__depot", role=self.role_on_it)

    @property
    def at_depot(self) -> Depot:
        return self.complaint.truck.depot

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"complaint": self.complaint}

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        said = self.complaint
        lead = f"{said.get_kind_display().capitalize()} of truck {said.truck}, raised {said.raised_on:%-d %b %Y} "
        return super().get_context_data(**context) | {"lead": f"{lead}by {said.raised_by}."}

    def back(self) -> str:
        return reverse("reports:complaint", args=[self.kwargs["pk"]])


class AmendComplaint(TechnicianView, OfComplaint):
    """Correct what is on record; what was stays beside it."""

    form_class = AmendForm
    title = "Amend a complaint"
    done = "Amended; what was stays on record."

    def get_initial(self) -> dict[str, Any]:
        said = self.complaint
        return {name: getattr(said, name) for name in AmendForm.base_fields if name != "reason"}

    def serve(self, typed: dict[str, Any]) -> str:
        correct_complaint(user=self.person, complaint=self.complaint, **typed)
        return self.back()


class CloseComplaint(ManagerView, OfComplaint):
    """Close with what was found and the check that told it."""

    role_on_it = MANAGER
    form_class = CloseForm
    title = "Close a complaint"
    submit = "Close it"
    done = "The complaint is closed with its finding."

    def serve(self, typed: dict[str, Any]) -> str:
        settle_complaint(user=self.person, complaint=self.complaint, **typed)
        return self.back()
