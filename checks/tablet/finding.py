"""Finding the unit to check, beginning a check of it, and giving one up."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from checks.selectors.draft import drafts_of
from checks.selectors.place import units_due, units_found
from checks.services.draft import begin_draft, discard_draft
from fleet.models import Membership, Turbocharger
from fleet.selectors.find import visible_row
from fleet.selectors.scope import require
from fleet.web.access import PersonRequest, signed_in


@signed_in
@require_safe
def find(request: PersonRequest) -> HttpResponse:
    """Find the unit to check: checks under way first, then what was looked for or is due."""
    require(request.user, Membership.Role.TECHNICIAN)
    text = request.GET.get("q", "").strip()[:60]
    context = {
        "q": text,
        "drafts": drafts_of(request.user),
        "units": units_found(request.user, text) if text else units_due(request.user),
    }
    return render(request, "checks/guided/find.html", context)


@signed_in
@require_POST
def begin(request: PersonRequest, pk: int) -> HttpResponse:
    """Begin a check, or go on with the one begun."""
    rows = Turbocharger.objects.select_related("depot", "model")
    draft = begin_draft(user=request.user, turbocharger=visible_row(request.user, rows, pk))
    return redirect("checks:step", draft.key, draft.step)


@signed_in
@require_POST
def discard(request: PersonRequest, key: UUID) -> HttpResponse:
    """Throw a check under way away."""
    discard_draft(user=request.user, key=key)
    return redirect("checks:find")
