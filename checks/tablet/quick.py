"""Typing in a check that was made on paper: one page, from the keyboard alone."""

import uuid
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views import View

from checks.selectors.draft import drafts_of
from checks.selectors.specification import revision_to_type_by
from checks.services.check import read_all, record_check
from checks.services.faults import Faults
from checks.services.paper import PAPER, keep_sheet
from checks.tablet.quick_form import QuickForm
from checks.tablet.quick_sheet import read_sheet
from fleet.models import Turbocharger, User
from fleet.problems import FleetError, FleetErrors, each_error
from fleet.selectors.find import visible_row
from fleet.web.access import TECHNICIAN, PersonRequest, TechnicianView

# Told at the boxes of the sheet already, from which they are made.
TIMES = {"made_at", "cautions_read_at"}
UNSENT = {"csrfmiddlewaretoken", "key", "action"}


class QuickView(TechnicianView, View):
    """The sheet of one turbocharger, to be typed in; ``action=keep`` keeps it unfinished."""

    http_method_names = ["get", "head", "post"]

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the sheet as far as it was typed, or that a guided check of the unit is under way."""
        unit = unit_to_check(request.user, pk)
        draft = next((row for row in drafts_of(request.user) if row.turbocharger_id == unit.pk), None)
        if draft is not None and draft.step != PAPER:
            return render(request, "checks/quick/under_way.html", {"turbocharger": unit, "draft": draft})
        return show(request, unit, draft.key if draft else uuid.uuid4(), draft.answers.get(PAPER) if draft else None)

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Keep the sheet, or sign it and go to its verdict; refused, it is kept and shown with what is wrong."""
        unit = unit_to_check(request.user, pk)
        typed = {name: str(text) for name, text in request.POST.items() if name not in UNSENT}
        if request.POST.get("action") == "keep":
            return keep(request, unit, typed)
        key, faults = key_of(request.POST), Faults()
        form = QuickForm(request.user, unit, revision_to_type_by(unit, typed.get("specification", "")), typed)
        read = read_sheet(
            typed, key=key, turbocharger=unit.pk, lines=form.lines, time_zone=unit.depot.time_zone, faults=faults
        )
        try:
            if faults.errors:  # then everything else that is wrong is told along with it
                read_all(request.user, unit, read.submission, faults)
                faults.errors = [one for one in faults.errors if one.field not in TIMES]
                faults.settle()
            check = record_check(user=request.user, submission=read.submission)
        except FleetError as refusal:
            wrong = [(read.place_of(one.field, one.code), one.sentence) for one in each_error(refusal)]
            keep_quietly(request.user, unit, key, typed)
            return show(request, unit, key, typed, wrong, status=refusal.status)
        return redirect("reports:check", check.pk)


def keep(request: PersonRequest, unit: Turbocharger, typed: Mapping[str, str]) -> HttpResponse:
    """Keep the sheet and say when; a program reads the answer."""
    try:
        keep_sheet(user=request.user, turbocharger=unit, key=key_of(request.POST), typed=typed)
    except FleetError as refusal:
        return JsonResponse({"sentence": refusal.sentence}, status=refusal.status)
    return JsonResponse({"kept": timezone.now().isoformat()})


def keep_quietly(user: User, unit: Turbocharger, key: UUID, typed: Mapping[str, str]) -> None:
    """Keep a refused sheet; where even that is refused, the page still shows everything typed."""
    try:
        keep_sheet(user=user, turbocharger=unit, key=key, typed=typed)
    except FleetError:
        return


def show(
    request: PersonRequest,
    unit: Turbocharger,
    key: UUID,
    typed: Mapping[str, str] | None,
    wrong: list[tuple[str, str]] | None = None,
    status: int = 200,
) -> HttpResponse:
    """The page with its boxes; each refusal stands at its box and once at the top."""
    at_boxes: dict[str, str] = {}
    for name, sentence in wrong or []:
        at_boxes.setdefault(name, sentence)
    revision = revision_to_type_by(unit, (typed or {}).get("specification", ""))
    form = QuickForm(request.user, unit, revision, typed, at_boxes)
    context: dict[str, Any] = form.context() | {"key": key, "faults": list(at_boxes.items())}
    return render(request, "checks/quick/sheet.html", context, status=status)


def unit_to_check(user: User, pk: int) -> Turbocharger:
    """The turbocharger, within what `user` may check."""
    return visible_row(user, Turbocharger.objects.select_related("depot", "model"), pk, role=TECHNICIAN)


def key_of(post: Mapping[str, str]) -> UUID:
    """The key of the sheet, made with the page. Raises FleetErrors without one."""
    try:
        return UUID(post.get("key", ""))
    except ValueError as error:
        sentence = "This page lost its key on the way. Reload it; what was typed is kept."
        raise FleetErrors([FleetError("no_key", "", sentence)]) from error
