"""Correcting a signed check, judging a model's checks again, and taking a safety flag down."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views import View

from checks.models import SpecificationRevision
from checks.pages.amend_form import AmendForm
from checks.pages.amend_lines import check_lines, label_of, shown_value, stroke_lines
from checks.selectors.assessment import checks_to_judge
from checks.selectors.check import amendment_facts, check_of
from checks.services.amendment import amend_check, may_amend
from checks.services.amendment_fields import amendable_fields
from checks.services.assessment import request_rejudging
from checks.services.safety import clear_safety_flag
from fleet.models import Turbocharger
from fleet.problems import FleetError, each_error
from fleet.selectors.scope import visible_to
from fleet.web.access import ManagerView, PersonRequest, TechnicianView


class AmendPage(TechnicianView, View):
    """Every value of a check as it holds now; one of them, named in the address, with the form to correct it."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the values, or the form for one."""
        return self._page(request, pk, None)

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Amend one value, or say why not with everything typed still there."""
        check, field = self._check(request, pk), request.GET.get("field", "")
        if not field:
            return self._page(request, pk, None, status=400)
        form = AmendForm(request.POST, user=request.user, check=check, field=field)
        if not form.is_valid():
            return self._page(request, pk, form, status=400)
        try:
            amend_check(
                user=request.user, check=check, field=field, new_value=form.sent(), reason=form.cleaned_data["why"]
            )
        except FleetError as refusal:
            if refusal.status in {403, 404}:
                raise
            for error in each_error(refusal):
                form.add_error({"new_value": "new_value", "reason": "why"}.get(error.field), error.sentence)
            return self._page(request, pk, form, status=refusal.status)
        messages.success(request, f"{label_of(check, field)} amended; the check was judged again.")
        return redirect("reports:check", pk)

    def _check(self, request: PersonRequest, pk: int) -> Any:
        check_of(request.user, pk)
        (check,) = checks_to_judge([pk])
        if not may_amend(request.user, check):
            raise FleetError(
                "not_allowed", "", "Who signed a check may amend it, or a manager of its depot.", status=403
            )
        field = request.GET.get("field", "")
        if field and field not in amendable_fields(check):
            raise FleetError("no_such_field", "field", "A check has no such value to amend.", status=404)
        return check

    def _page(self, request: PersonRequest, pk: int, form: AmendForm | None, status: int = 200) -> HttpResponse:
        check, field = self._check(request, pk), request.GET.get("field", "")
        context: dict[str, Any] = {"check": check, "field": field}
        if field:
            context |= {"label": label_of(check, field), "value": shown_value(check, field)}
            context["form"] = form or AmendForm(user=request.user, check=check, field=field)
        else:
            context |= {"lines": check_lines(check), "strokes": stroke_lines(check)}
        rows = check.amendments.select_related("author").order_by("-made_at", "-pk")
        context["amendments"] = [
            amendment_facts(row) | {"label": label_of(check, row.field)}
            for row in rows
            if not field or row.field == field
        ]
        return render(request, "checks/amend.html", context, status=status)


class Rejudge(ManagerView, View):
    """Ask for every check of a model to be judged by one of its revisions."""

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Start the job and show it."""
        specification = get_object_or_404(SpecificationRevision.objects.select_related("turbocharger_model"), pk=pk)
        return redirect("jobs:job", request_rejudging(user=request.user, specification=specification).pk)


class ClearFlag(TechnicianView, View):
    """Take a unit's safety flag down once someone has inspected it."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Ask what was found."""
        return render(request, "checks/safety_flag.html", {"unit": self._unit(request, pk)})

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Take it down, or ask again."""
        unit, found = self._unit(request, pk), request.POST.get("found", "")
        try:
            clear_safety_flag(user=request.user, turbocharger=unit, reason=found)
        except FleetError as refusal:
            if refusal.status != 400:
                raise
            context = {"unit": unit, "found": found, "wrong": refusal.sentence}
            return render(request, "checks/safety_flag.html", context, status=400)
        messages.success(request, f"The safety flag of {unit} is down.")
        return redirect("reports:unit", pk)

    def _unit(self, request: PersonRequest, pk: int) -> Turbocharger:
        return get_object_or_404(visible_to(request.user, Turbocharger.objects.select_related("depot")), pk=pk)
