"""Forms of the register of instruments: add, edit, withdraw, bring back."""

from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from checks.models import Instrument
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm
from checks.pages.instrument_forms import InstrumentForm, ReasonForm, WithdrawForm, first_values, values_of
from checks.selectors.instrument import instruments_of
from checks.services import instrument as services
from checks.services.entry import Entry
from fleet.models import Membership
from fleet.selectors import scope

KINDS = dict(Instrument.Kind.choices)


class InstrumentAdd(EntryView):
    """Enter an instrument of one kind."""

    kind: str
    done = "The instrument is in the register. Enter its calibration certificate next."

    def load(self) -> None:
        self.kind = self.kwargs["kind"]
        if self.kind not in KINDS:
            raise Http404

    def make_form(self, data: Any = None) -> EntryForm:
        begun = first_values(self.kind, self.request.user)
        return InstrumentForm(data, kind=self.kind, user=self.request.user, initial=begun)

    def keep(self, entry: Entry) -> Any:
        return services.add_instrument(author=self.request.user, kind=self.kind, entry=entry)

    def next_address(self, row: Any) -> str:
        return reverse("checks:instrument", args=[row.pk])

    def words(self) -> dict[str, Any]:
        lead = "Type the values as the scale or the maker's sheet gives them; they are converted exactly."
        return {
            "title": f"Add a {KINDS[self.kind]}",
            "lead": lead,
            "button": "Add it",
            "back": reverse("checks:instruments"),
        }


class OneInstrument(EntryView):
    """What every form about one instrument has in common; other depots' instruments are not found."""

    instrument: Instrument

    def load(self) -> None:
        """Find the instrument among those that the person manages."""
        rows = instruments_of(self.request.user)
        self.instrument = get_object_or_404(rows, pk=self.kwargs["pk"])
        scope.require(self.request.user, Membership.Role.MANAGER, self.instrument.depot)

    def next_address(self, row: Any) -> str:
        return reverse("checks:instrument", args=[self.instrument.pk])

    def page_words(self, title: str, lead: str, button: str) -> dict[str, Any]:
        """Heading, lead and button, with the way back to the instrument."""
        return {"title": title, "lead": lead, "button": button, "back": self.next_address(None)}


class InstrumentEdit(OneInstrument):
    """Change what the register says of an instrument."""

    def make_form(self, data: Any = None) -> EntryForm:
        row = self.instrument
        return InstrumentForm(data, kind=row.kind, user=self.request.user, initial=values_of(row))

    def keep(self, entry: Entry) -> Any:
        return services.edit_instrument(author=self.request.user, instrument=self.instrument, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "Checks that were judged already keep their verdicts; the next ones use the new values."
        return self.page_words(f"Correct {self.instrument}", lead, "Save the changes")


class InstrumentWithdraw(OneInstrument):
    """Take an instrument out of use."""

    done = "The instrument is out of use."

    def make_form(self, data: Any = None) -> EntryForm:
        return WithdrawForm(data, initial={"withdrawn_on": timezone.localdate()})

    def keep(self, entry: Entry) -> Any:
        return services.withdraw_instrument(author=self.request.user, instrument=self.instrument, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "It can no longer be chosen for a check. Its certificates and the checks made with it stay."
        return self.page_words(f"Withdraw {self.instrument}", lead, "Withdraw it")


class InstrumentBringBack(OneInstrument):
    """Put a withdrawn instrument back into use."""

    done = "The instrument is back in use."

    def make_form(self, data: Any = None) -> EntryForm:
        return ReasonForm(data)

    def keep(self, entry: Entry) -> Any:
        return services.bring_back_instrument(author=self.request.user, instrument=self.instrument, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "It can be chosen for checks again, as far as its certificate allows."
        return self.page_words(f"Bring {self.instrument} back", lead, "Bring it back")
