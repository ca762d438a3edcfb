"""Measurement studies: the list, and planning one."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views import View

from checks.models import Study
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm
from checks.pages.study_depots import round_words
from checks.pages.study_forms import PlanForm
from checks.pages.study_words import TRIALS_USUAL, size_lines
from checks.selectors.instrument import instruments_of
from checks.selectors.specification import model_rows
from checks.selectors.study import StudyRow, studies_visible, study_rows, technicians_of
from checks.selectors.study_depots import rounds
from checks.services.entry import Entry
from checks.services.study_plan import plan_study
from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView

MANAGER = Membership.Role.MANAGER


class StudiesPage(ViewerView, View):
    """Studies of the person's depots."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the list."""
        rows = study_rows(request.user)
        context = {
            "rows": rows,
            "lead": _lead(rows),
            "manages": scope.holds(request.user, MANAGER),
            "rounds": [round_words(found, request.user) for found in rounds(request.user)],
        }
        return render(request, "checks/studies.html", context)


class StudyPlan(EntryView):
    """Plan a study at one depot; ``depot`` in the address chooses another of one's own."""

    template_name = "checks/study_plan.html"
    done = "Planned. Print the order, then enter the readings as they are made."
    depots: list[Depot]
    depot: Depot

    def load(self) -> None:
        self.depots = list(scope.depots_of(self.request.user, role=MANAGER).order_by("name").distinct())
        if not self.depots:
            raise FleetError("no_depot", "", "There is no depot yet. Enter one in the register first.", status=409)
        asked = self.request.GET.get("depot", "")
        self.depot = next((row for row in self.depots if row.code == asked), self.depots[0])

    def make_form(self, data: Any = None) -> EntryForm:
        user, today = self.request.user, timezone.localdate()
        return PlanForm(
            data,
            specifications=[row.in_force for row in model_rows(user, on=today) if row.in_force],
            technicians=technicians_of(self.depot),
            instruments=list(instruments_of(user).filter(depot=self.depot, withdrawn_on__isnull=True)),
            initial={"planned_for": today, "trials": TRIALS_USUAL, "length_unit": user.length_unit},
        )

    def keep(self, entry: Entry) -> Any:
        return plan_study(author=self.request.user, depot=self.depot, entry=entry, key=key_of(entry))

    def next_address(self, row: Any) -> str:
        return reverse("reports:study", args=[row.pk])

    def words(self) -> dict[str, Any]:
        return {
            "title": "Plan a measurement study",
            "lead": f"Every technician of {self.depot} reads every part several times, in a random order.",
            "button": "Plan it",
            "back": reverse("checks:studies"),
            "depots": self.depots,
            "depot": self.depot,
            "sizes": size_lines(),
            "sure": "I mean it so",
        }


def key_of(entry: Entry) -> UUID:
    """The key of a form. Raises FleetError where it got lost."""
    try:
        return UUID(str(entry.get("key") or ""))
    except ValueError as error:
        sentence = "This form lost its key on the way. Reload the page and send it again."
        raise FleetError("no_key", "", sentence) from error


def study_here(user: User, pk: int, *, role: str) -> Study:
    """The study, within what `user` holds the role for; Http404 otherwise."""
    return get_object_or_404(studies_visible(user, role=role), pk=pk)


def _lead(rows: list[StudyRow]) -> str:
    if not rows:
        return "No depot of yours has studied yet how far its technicians and repeats move a reading."
    counting = [row for row in rows if row.counts]
    if not counting:
        return "No study is published: every depot's checks go by the assumed repeatability."
    depots = sorted({str(row.study.depot) for row in counting})
    named = depots[0] if len(depots) == 1 else f"{', '.join(depots[:-1])} and {depots[-1]}"
    return f"The checks of {named} go by a published study; all others by the assumed repeatability."
