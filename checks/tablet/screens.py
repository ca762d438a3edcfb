"""The screens of the guided check, one step each."""

from types import ModuleType
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from checks.selectors.check import signed_check
from checks.services.check import record_check
from checks.services.draft import draft_submission, save_answers
from checks.services.paper import PAPER
from checks.tablet.desk import Desk, desk_of
from checks.tablet.entry import Sheet
from checks.tablet.frame import frame, places_to_mend
from checks.tablet.sequence import EVERY, Step, after, first_open, steps_for
from checks.tablet.steps import adjust, cautions, exercise, fall, instruments, reason, rise, sign, verdict, zero
from checks.tablet.taken import Taken
from fleet.problems import FleetError, FleetErrors
from fleet.web.access import PersonRequest, signed_in

KINDS: dict[str, ModuleType] = {
    "reason": reason,
    "instruments": instruments,
    "cautions": cautions,
    "zero": zero,
    "exercise": exercise,
    "zero-return": zero,
    "rise": rise,
    "fall": fall,
    "verdict": verdict,
    "adjust": adjust,
    "sign": sign,
}


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def step(request: PersonRequest, key: UUID, step: str) -> HttpResponse:
    """One screen of the sequence. A check that is signed already answers with its page."""
    try:
        desk = desk_of(user=request.user, key=key)
    except FleetError:
        signed = signed_check(user=request.user, key=key)
        if signed is None:
            raise
        return redirect("reports:check", signed.pk)
    if step == PAPER:
        return redirect("checks:quick", desk.turbocharger.pk)
    place = EVERY.get(step)
    if place is None:
        raise Http404(f"A check has no step '{step}'.")
    steps, reached = steps_for(desk.answers, desk.cycles), first_open(desk.answers, desk.cycles)
    if place not in steps or steps.index(place) > steps.index(reached):
        return redirect("checks:step", key, reached.slug)
    return _take(request, desk, place) if request.method == "POST" else _draw(request, desk, place)


def _take(request: PersonRequest, desk: Desk, place: Step) -> HttpResponse:
    if request.POST.get("action") == "tell":
        return _draw(request, desk, place, looked_at=True)
    try:
        taken: Taken = KINDS[place.kind].take(desk, place, request.POST)
        if place.kind == "sign" and not taken.to:
            return _sign(request, desk, taken)
    except FleetError as error:
        return _draw(request, desk, place, error)
    answers = {**desk.answers, **taken.answers}
    following = place.slug if taken.stay else taken.to or after(place, answers, desk.cycles).slug
    save_answers(user=request.user, key=desk.draft.key, step=following, answers=taken.answers)
    return redirect("checks:step", desk.draft.key, following)


def _sign(request: PersonRequest, desk: Desk, taken: Taken) -> HttpResponse:
    draft = save_answers(user=request.user, key=desk.draft.key, step="sign", answers=taken.answers)
    check = record_check(user=request.user, submission=draft_submission(draft))
    return redirect("reports:check", check.pk)


def _draw(
    request: PersonRequest, desk: Desk, place: Step, error: FleetError | None = None, *, looked_at: bool = False
) -> HttpResponse:
    """The screen as kept; as typed where it was refused, or only looked at before it is sent."""
    errors = list(error.errors) if isinstance(error, FleetErrors) else [error] if error else []
    wrong = {one.field: one.sentence for one in errors}
    sheet = Sheet(request.POST if error or looked_at else None, wrong, request.GET)
    context: dict[str, Any] = frame(desk, place) | KINDS[place.kind].show(desk, place, sheet)
    context |= {"errors": places_to_mend(desk, place, errors), "error_code": error.code if error else ""}
    # htmx swaps answers that succeed only; a refused entry is a page to be shown like any other.
    status = 200 if error is None or request.htmx else error.status
    return render(request, f"checks/guided/{place.kind.replace('-', '_')}.html", context, status=status)
