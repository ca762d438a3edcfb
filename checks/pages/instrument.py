"""Pages of the register of instruments."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views import View

from checks.models import Instrument
from checks.pages.instrument_facts import certificate_panels, facts_of, reach_of
from checks.selectors.history import changes_of
from checks.selectors.instrument import InstrumentRow, instrument_rows, instruments_of, row_of, use_of
from fleet.models import Membership
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView

PAGE = 50
KINDS = dict(Instrument.Kind.choices)


class InstrumentsPage(ViewerView, View):
    """Instruments of the person's depots, those that need a calibration first."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the list."""
        asked = request.GET
        depot = asked.get("depot", "")
        rows = instrument_rows(
            request.user,
            on=timezone.localdate(),
            depot=int(depot) if depot.isdecimal() and len(depot) < 19 else None,
            kind=asked.get("kind", "") if asked.get("kind") in KINDS else "",
            withdrawn="withdrawn" in asked,
            find=asked.get("find", "").strip().replace("\x00", ""),
        )
        kept = asked.copy()
        kept.pop("page", None)
        narrowed = any(kept.values())
        context = {
            "page": Paginator(rows, PAGE).get_page(asked.get("page")),
            "lead": _lead(rows, narrowed=narrowed),
            "depots": scope.depots_of(request.user).order_by("name"),
            "kinds": KINDS,
            "asked": asked,
            "kept_query": kept.urlencode(),
            "narrowed": narrowed,
            "manages": scope.holds(request.user, Membership.Role.MANAGER),
        }
        return render(request, "checks/instruments.html", context)


def _lead(rows: list[InstrumentRow], *, narrowed: bool) -> str:
    counts = {state: sum(row.state == state for row in rows) for state in ("out_of_date", "no_certificate", "due_soon")}
    parts = [
        f"{counts['out_of_date']} out of date" if counts["out_of_date"] else "",
        f"{counts['no_certificate']} without a certificate" if counts["no_certificate"] else "",
        f"{counts['due_soon']} due within 30 days" if counts["due_soon"] else "",
    ]
    told = [part for part in parts if part]
    if not rows:
        return "No instrument matches." if narrowed else "Your depots have no instrument on record yet."
    if not told:
        return "Every instrument here is in date."
    return f"Of {len(rows)} instruments: {', '.join(told)}."


class InstrumentPage(ViewerView, View):
    """One instrument: scale, certificates with their errors, use, record of changes."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the page."""
        found = get_object_or_404(instruments_of(request.user).prefetch_related("certificates"), pk=pk)
        row, panels = row_of(found, timezone.localdate()), certificate_panels(found, request.user)
        context = {
            "instrument": found,
            "row": row,
            "reach": reach_of(found, row.certificate, panels, request.user),
            "facts": facts_of(found, request.user),
            "panels": panels,
            "use": use_of(found),
            "changes": changes_of(found),
            "manages": scope.holds(request.user, Membership.Role.MANAGER, found.depot),
        }
        return render(request, "checks/instrument.html", context)


class InstrumentKinds(ViewerView, View):
    """The question before an instrument is added: of which kind."""

    role = role_to_write = Membership.Role.MANAGER

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the kinds."""
        return render(request, "checks/instrument_kinds.html", {"kinds": KINDS})
