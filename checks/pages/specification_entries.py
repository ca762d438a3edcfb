"""Forms of the register of specifications: add, revise, correct, end."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from checks.models import SpecificationRevision
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm
from checks.pages.specification_forms import EndForm, SpecificationForm
from checks.pages.specification_values import first_values, values_of
from checks.services import specification as services
from checks.services.entry import Entry
from fleet.models import TurbochargerModel


class SpecificationAdd(EntryView):
    """Enter the first revision of a model, or a new one from nothing."""

    model: TurbochargerModel

    def load(self) -> None:
        self.model = get_object_or_404(TurbochargerModel, pk=self.kwargs["pk"])

    def make_form(self, data: Any = None) -> EntryForm:
        begun = first_values(self.model, self.request.user)
        return SpecificationForm(data, turbocharger_model=self.model, initial=begun)

    def next_address(self, row: Any) -> str:
        return reverse("checks:specification", args=[row.pk])

    def keep(self, entry: Entry) -> Any:
        return services.add_specification(author=self.request.user, turbocharger_model=self.model, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "Type the values as the document gives them, in its own units; they are converted exactly."
        back = reverse("checks:specifications")
        return {"title": f"Specification of {self.model}", "lead": lead, "button": "Add it", "back": back}


class _OneRevision(EntryView):
    """What revising, correcting and ending have in common."""

    old: SpecificationRevision

    def load(self) -> None:
        """Find the revision that the address names."""
        rows = SpecificationRevision.objects.select_related("turbocharger_model")
        self.old = get_object_or_404(rows, pk=self.kwargs["pk"])

    def first_values(self) -> dict[str, Any]:
        """What the form begins with."""
        return values_of(self.old)

    def make_form(self, data: Any = None) -> EntryForm:
        return SpecificationForm(data, turbocharger_model=self.old.turbocharger_model, initial=self.first_values())

    def next_address(self, row: Any) -> str:
        return reverse("checks:specification", args=[row.pk])

    def page_words(self, verb: str, lead: str, button: str) -> dict[str, Any]:
        """Heading, lead and button, with the way back to the revision."""
        title = f"{verb} {self.old.turbocharger_model}, revision {self.old.revision}"
        return {"title": title, "lead": lead, "button": button, "back": self.next_address(self.old)}


class SpecificationRevise(_OneRevision):
    """Enter the revision that takes over from an older one."""

    def first_values(self) -> dict[str, Any]:
        return values_of(self.old) | {"revision": "", "effective_from": timezone.localdate()}

    def keep(self, entry: Entry) -> Any:
        return services.revise_specification(author=self.request.user, specification=self.old, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "The new revision takes over from its first day. Checks made before keep the one they were judged by."
        return self.page_words("Revise", lead, "Add the revision")


class SpecificationCorrect(_OneRevision):
    """Mend a revision that no check was judged by yet."""

    def keep(self, entry: Entry) -> Any:
        return services.correct_specification(author=self.request.user, specification=self.old, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "It may be corrected as long as no check was judged by it; from then on, revise it."
        return self.page_words("Correct", lead, "Save the correction")


class SpecificationEnd(_OneRevision):
    """Let a revision end without another to follow."""

    def make_form(self, data: Any = None) -> EntryForm:
        return EndForm(data, initial={"effective_to": timezone.localdate()})

    def keep(self, entry: Entry) -> Any:
        return services.end_specification(author=self.request.user, specification=self.old, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "After its last day no check of this model can be begun until another revision is in force."
        return self.page_words("End", lead, "End it")
