"""Pages of the register of specifications."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views import View

from checks.models import SpecificationRevision
from checks.pages.numbers import Fact, fact
from checks.pages.window_scale import window_scales
from checks.selectors.history import changes_of
from checks.selectors.specification import RevisionRow, model_rows, revision_rows
from checks.services.specification_fields import stimulus_units
from fleet.models import Membership, User
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView


class SpecificationsPage(ViewerView, View):
    """Every model with the revision in force, its window on one common scale."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the list."""
        rows = model_rows(request.user, on=timezone.localdate())
        held = [row.in_force for row in rows if row.in_force]
        scales = window_scales(held, request.user)
        lines = [
            {"row": row, "scale": scales[row.in_force.pk], "facts": _summary(row.in_force, request.user)}
            if row.in_force
            else {"row": row}
            for row in rows
        ]
        context = {
            "lines": lines,
            "missing": [row for row in rows if row.in_force is None],
            "manages": scope.holds(request.user, Membership.Role.MANAGER),
        }
        return render(request, "checks/specifications.html", context)


class SpecificationPage(ViewerView, View):
    """One revision: its values in the reader's units and as typed, the line of revisions, the record of changes."""

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Show the page."""
        found = get_object_or_404(SpecificationRevision.objects.select_related("turbocharger_model"), pk=pk)
        rows = revision_rows(request.user, found.turbocharger_model, on=timezone.localdate())
        shown = next(row for row in rows if row.revision.pk == pk)
        context = {
            "shown": shown,
            "specification": shown.revision,
            "rows": rows,
            "groups": facts_of(shown.revision, request.user),
            "scale": window_scales([shown.revision], request.user)[pk],
            "changes": changes_of(shown.revision),
            "manages": scope.holds(request.user, Membership.Role.MANAGER),
            "can_end": _can_end(shown),
        }
        return render(request, "checks/specification.html", context)


def _can_end(row: RevisionRow) -> bool:
    return row.revision.effective_to is None and row.state in {"in force", "not yet"}


def _summary(row: SpecificationRevision, user: User) -> dict[str, Fact]:
    kept = stimulus_units(row.turbocharger_model)[0]
    return {name: fact(row, name, kept, user) for name in ("setting", "stimulus_max")}


def facts_of(row: SpecificationRevision, user: User) -> list[tuple[str, list[Fact]]]:
    """Every value of a revision, in the order in which the work meets them."""
    kept = stimulus_units(row.turbocharger_model)[0]
    what = "pressure" if kept == "kPa" else "command"
    highest = "Canister maximum" if kept == "kPa" else "Highest command"
    return [
        (
            "Setting",
            [
                fact(row, "setting", kept, user, f"Setting {what}"),
                fact(row, "stimulus_max", kept, user, highest),
                fact(row, "capture_tolerance", kept, user, "Capture tolerance, ±"),
            ],
        ),
        (
            "Window at the setting",
            [
                fact(row, "lower_mm", "mm", user, "Lower limit"),
                fact(row, "nominal_mm", "mm", user, "Nominal"),
                fact(row, "upper_mm", "mm", user, "Upper limit"),
            ],
        ),
        (
            "Zero and exercise",
            [
                fact(row, "zero_tolerance_stimulus", kept, user, f"Zero tolerance, {what}, ±"),
                fact(row, "zero_tolerance_mm", "mm", user, "Zero tolerance, travel, ±"),
                Fact("Exercise cycles before the rise", str(row.exercise_cycles)),
            ],
        ),
        ("Adjustment", _adjustment_facts(row, user)),
    ]


def _adjustment_facts(row: SpecificationRevision, user: User) -> list[Fact]:
    pitch = fact(row, "thread_pitch_mm", "mm", user, "Thread pitch of the rod")
    return [
        pitch if row.thread_pitch_mm else Fact(pitch.label, "unknown: no half turns are advised"),
        Fact("Direction", str(row.get_adjustment_sign_display())),
        Fact("Adjustment range", f"{row.adjustment_range_half_turns} half turns"),
    ]
