"""Recalls: the list, one recall with its three verdicts side by side, and the letter to print."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views import View

from checks.models import Recall
from checks.pages.recall_lines import lines_of
from checks.pages.recall_words import period_text, permissible_text, recall_sentence
from checks.selectors.recall import (
    RecallRow,
    recall_rows,
    recalls_visible,
    units_of_recall,
)
from fleet.models import Membership, User
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView


class RecallsPage(ViewerView, View):
    """Recalls of the person's depots, open ones first."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the list."""
        rows = [(row, recall_sentence(row, request.user)) for row in recall_rows(recalls_visible(request.user))]
        return render(request, "checks/recalls.html", {"rows": rows, "lead": _lead([row for row, _ in rows])})


class RecallPage(ViewerView, View):
    """One recall."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the page; ``all`` in the address shows the verdicts that do not change too."""
        recall = get_object_or_404(recalls_visible(request.user), pk=pk)
        lines = lines_of(recall, request.user)
        shown = lines if "all" in request.GET else [line for line in lines if line.stroke.flips]
        context = {"shown": shown, "hidden": len(lines) - len(shown), **_told(recall, request.user)}
        return render(request, "checks/recall.html", context)


class RecallLetter(ViewerView, View):
    """One page to print for whoever answers for the depot."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the letter."""
        recall = get_object_or_404(recalls_visible(request.user), pk=pk)
        told = _told(recall, request.user)
        changes: dict[tuple[str, str], int] = {}
        for line in lines_of(recall, request.user):
            if line.stroke.flips:
                before, full, grown = line.stroke.states
                after = full if full != before else grown
                changes[before, after] = changes.get((before, after), 0) + 1
        context = {"changes": sorted(changes.items(), key=lambda pair: -pair[1]), "today": timezone.localdate(), **told}
        return render(request, "checks/recall_letter.html", context)


def _told(recall: Recall, user: User) -> dict[str, Any]:
    (row,) = recall_rows([recall])
    return {
        "recall": recall,
        "row": row,
        "sentence": recall_sentence(row, user),
        "permissible": permissible_text(recall, user),
        "period": period_text(recall),
        "units": units_of_recall(recall, user),
        "trail": recall.entries.select_related("author", "turbocharger"),
        "manages": scope.holds(user, Membership.Role.MANAGER, recall.instrument.depot),
    }


def _lead(rows: list[RecallRow]) -> str:
    if not rows:
        return "No instrument of your depots came back beyond its permissible error."
    still = sum(row.is_open for row in rows)
    waiting = sum(row.waiting for row in rows if row.is_open)
    if not still:
        return "No recall is open."
    units = f"{waiting or 'no'} unit{'' if waiting == 1 else 's'} to be seen again"
    return f"{still} recall{' is' if still == 1 else 's are'} open, with {units}."
