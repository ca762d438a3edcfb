"""Working on a study: readings entered in their order."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from checks.models import Study, StudyReading
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm
from checks.pages.study import study_here
from checks.pages.study_forms import ReadForm
from checks.pages.study_words import maximum_text, setting_text
from checks.selectors.study import Table, table_of
from checks.services.entry import Entry
from checks.services.study import enter_reading
from fleet.models import Membership
from fleet.problems import FleetError

TECHNICIAN, MANAGER = Membership.Role.TECHNICIAN, Membership.Role.MANAGER


class StudyEntry(EntryView):
    """What the forms of one study have in common."""

    template_name = "checks/study_entry.html"
    study: Study
    role_here: str = MANAGER

    def load(self) -> None:
        self.study = study_here(self.request.user, self.kwargs["pk"], role=self.role_here)

    def next_address(self, row: Any) -> str:
        return reverse("reports:study", args=[self.study.pk])


class PlaceEntry(StudyEntry):
    """A form of one place in the order."""

    role = role_to_write = role_here = TECHNICIAN
    table: Table

    def load(self) -> None:
        super().load()
        self.table = table_of(self.study)

    def at(self, place: int) -> StudyReading:
        """The reading at a place; Http404 where the order has none."""
        for reading in self.table.readings:
            if reading.place == place:
                return reading
        raise Http404("No such place in the order.")


class StudyRead(PlaceEntry):
    """The next reading that is missing; ``place`` in the address chooses one, ``after`` the next behind one."""

    template_name = "checks/study_read.html"
    reading: StudyReading

    def get(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Show the place, or the study once nothing is missing."""
        self.load()
        found = self._wanted()
        if found is None:
            return redirect(self.next_address(None) if self.table.readings else "checks:studies")
        self.reading = found
        return self.page(self.make_form())

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Keep the reading and go on to the next."""
        self.load()
        place = _number(request.POST.get("place", ""))
        if not place:
            raise FleetError("no_place", "", "This form lost its place on the way. Reload the page and send it again.")
        self.reading = self.at(place)
        return super().post(request, **address)

    def _wanted(self) -> StudyReading | None:
        missing = self.table.missing
        if asked := _number(self.request.GET.get("place", "")):
            return self.at(asked)
        after = _number(self.request.GET.get("after", ""))
        return next((one for one in missing if one.place > after), missing[0] if missing else None)

    def make_form(self, data: Any = None) -> EntryForm:
        return ReadForm(data, initial={"travel": self.study.length_unit})

    def keep(self, entry: Entry) -> Any:
        row = enter_reading(author=self.request.user, study=self.study, place=self.reading.place, entry=entry)
        self.done = f"Place {row.place} is kept: {row.typed} {row.unit}."
        return row

    def next_address(self, row: Any) -> str:
        here = reverse("checks:study_read", args=[self.study.pk])
        if row is None or all(one.place == row.place for one in self.table.missing):
            return super().next_address(row)
        return f"{here}?after={row.place}"

    def words(self) -> dict[str, Any]:
        missing = self.table.missing
        onward = next((one for one in missing if one.place > self.reading.place), None)
        return {
            "study": self.study,
            "reading": self.reading,
            "table": self.table,
            "entered": len(self.table.readings) - len(missing),
            "onward": onward,
            "setting": setting_text(self.study, self.request.user),
            "maximum": maximum_text(self.study, self.request.user),
            "back": super().next_address(None),
        }


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0
