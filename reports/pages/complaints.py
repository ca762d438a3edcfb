"""Complaints: the list, and one of them with what the records say of it."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from fleet.models import Complaint
from fleet.pages.base import RegisterList
from fleet.pages.forms import Filters
from fleet.web.access import PersonRequest, ViewerView
from reports.selectors.complaints import complaint_page, complaint_row, complaints_for, held
from reports.sentences.complaints import list_sentence, next_sentence, sure_sentence
from reports.sentences.evidence import evidence_sentence


class ComplaintFilters(Filters):
    """Narrows the list."""

    kind = forms.ChoiceField(required=False, choices=[("", "all kinds"), *Complaint.Kind.choices])
    state = forms.ChoiceField(required=False, choices=[("", "open"), ("closed", "closed"), ("all", "open and closed")])

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.fields["find"].label = "Truck"


class ComplaintsView(RegisterList):
    """Show complaints about the trucks of the viewer's depots, the latest first."""

    template = "reports/complaints.html"
    order = ("-raised_on", "-pk")
    filters = ComplaintFilters
    row = staticmethod(complaint_row)

    def found(self, wanted: dict[str, Any]) -> QuerySet[Complaint]:
        depot = wanted.get("depot")
        return complaints_for(
            self.person, state=wanted.get("state") or "open", kind=wanted.get("kind", ""),
            depot=depot.pk if depot else None, find=wanted.get("find", ""),
        )  # fmt: skip

    def more(self) -> dict[str, Any]:
        now = held(self.person)
        ever = bool(now.open) or complaints_for(self.person, state="all").exists()
        return {"sentence": list_sentence(now.open, now.oldest, now.asking), "ever": ever}


class ComplaintView(ViewerView, View):
    """Show one complaint."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Answer with the evidence sentence first."""
        page = complaint_page(user=request.user, pk=pk)
        found, complaint = page.found, page.complaint
        context = {
            "page": page,
            "complaint": complaint,
            "sentence": evidence_sentence(found, complaint, request.user.length_unit),
            "sure": sure_sentence(found.evidence),
            "next": next_sentence(found, complaint),
        }
        return render(request, "reports/complaint.html", context)
