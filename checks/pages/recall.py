"""Recalls: the list, one recall with its three verdicts side by side, and the letter to print."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views import View

from checks.components.window_strip import Reading, Window, WindowStrip, window_strip
from checks.models import Recall
from checks.pages.recall_words import period_text, permissible_text, recall_sentence
from checks.selectors.recall import (
    RecallRow,
    StrokeRow,
    recall_rows,
    recalls_visible,
    strokes_of_recall,
    units_of_recall,
)
from fleet.models import Membership, User
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One of three verdicts as it is drawn; ``why`` where it is void."""

    state: str
    strip: WindowStrip
    why: str
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A stroke with its verdicts: as recorded, with the whole error, with the error grown in time."""

    stroke: StrokeRow
    moment: str
    verdicts: tuple[Judged, Judged, Judged]
    percent: int


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


def lines_of(recall: Recall, user: User) -> list[Line]:
    """The strokes of a recall as they are drawn for `user`."""
    return [_line(stroke, user) for stroke in strokes_of_recall(recall, user)]


def _line(stroke: StrokeRow, user: User) -> Line:
    row, moment = stroke.row, stroke.row.original.stroke.moment
    limits = row.original.specification
    window = Window.of(limits)

    def judged(result: dict[str, Any]) -> Judged:
        reading = Reading(
            state=result["state"],
            travel_mm=result["travel_mm"],
            expanded_mm=result["expanded_uncertainty_mm"],
            moment=moment,
        )
        return Judged(
            state=result["state"],
            strip=window_strip(window, [reading], unit=user.length_unit),
            why=result["voids"][0]["code"].replace("_", " ") if result["voids"] else "",
            changed=result["state"] != row.original.state,
        )

    return Line(
        stroke=stroke,
        moment=str(row.original.stroke.get_moment_display()),
        verdicts=(judged(row.original.result), judged(row.full), judged(row.grown)),
        percent=round(100 * row.share),
    )


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
