"""The forms of a recall: when it went wrong, a unit accepted, the end."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse

from checks.display import day_text
from checks.models import Recall
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm, day_field, text_field
from checks.selectors.recall import recalls_visible
from checks.services.entry import Entry
from checks.services.recall_work import accept_unit, close_recall, tell_day
from fleet.models import Membership, Turbocharger
from fleet.selectors import scope


class DayForm(EntryForm):
    """The day, and how it is known."""

    groups = (("", ("went_wrong_on", "reason")),)
    went_wrong_on = day_field("It went wrong on", required=False, hint="Empty: nobody knows.")
    reason = text_field("How is that known?", long=True, hint="Who saw what; with what it was compared.")


class AcceptForm(EntryForm):
    """Why a unit needs no other look."""

    groups = (("", ("reason",)),)
    reason = text_field("Why does it need no other look?", long=True)


class CloseForm(EntryForm):
    """What was decided."""

    groups = (("", ("conclusion",)),)
    conclusion = text_field("What was decided?", long=True, hint="Of the units, and of the instrument.")


class _RecallEntry(EntryView):
    """What the three have in common."""

    recall: Recall

    def load(self) -> None:
        self.recall = get_object_or_404(recalls_visible(self.request.user), pk=self.kwargs["pk"])
        scope.require(self.request.user, Membership.Role.MANAGER, self.recall.instrument.depot)

    def next_address(self, row: Any) -> str:
        return reverse("checks:recall", args=[self.recall.pk])


class RecallDay(_RecallEntry):
    """Tell when the instrument went wrong."""

    done = "Kept. Checks made before that day stand."

    def make_form(self, data: Any = None) -> EntryForm:
        return DayForm(data, initial={"went_wrong_on": self.recall.went_wrong_on})

    def keep(self, entry: Entry) -> Any:
        return tell_day(author=self.request.user, recall=self.recall, entry=entry)

    def words(self) -> dict[str, Any]:
        good = f" It was found good on {day_text(self.recall.since)}." if self.recall.since else ""
        lead = f"Only if a day is known on which it changed at once, such as a fall.{good} Earlier checks then stand."
        return {
            "title": f"When did {self.recall.instrument} go wrong?",
            "lead": lead,
            "button": "Keep it",
            "back": self.next_address(None),
        }


class RecallAccept(_RecallEntry):
    """Accept a unit without another look."""

    done = "Accepted; the reason is on the trail."
    unit: Turbocharger

    def load(self) -> None:
        super().load()
        recalled = Turbocharger.objects.filter(checks__strokes__assessments__recalled__recall=self.recall).distinct()
        self.unit = get_object_or_404(recalled, pk=self.kwargs["unit"])

    def make_form(self, data: Any = None) -> EntryForm:
        return AcceptForm(data)

    def keep(self, entry: Entry) -> Any:
        return accept_unit(author=self.request.user, recall=self.recall, turbocharger=self.unit, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = f"A verdict of it changes with the error found in {self.recall.instrument}. A look settles it better."
        return {
            "title": f"Accept {self.unit.serial} without another look",
            "lead": lead,
            "button": "Accept it",
            "back": self.next_address(None),
        }


class RecallClose(_RecallEntry):
    """Close the recall with what was decided."""

    done = "The recall is closed."

    def make_form(self, data: Any = None) -> EntryForm:
        return CloseForm(data)

    def keep(self, entry: Entry) -> Any:
        return close_recall(author=self.request.user, recall=self.recall, entry=entry)

    def words(self) -> dict[str, Any]:
        return {
            "title": f"Close the recall of {self.recall.instrument}",
            "lead": "Every unit whose verdict changes must be seen again, accepted or out of use.",
            "button": "Close it",
            "back": self.next_address(None),
        }
