"""A study whose readings are amended, or that is given up."""

from typing import Any

from checks.models import StudyReading
from checks.pages.fields import EntryForm
from checks.pages.study_entry import PlaceEntry, StudyEntry
from checks.pages.study_forms import AmendReadingForm, ReasonForm
from checks.services.entry import Entry
from checks.services.study import amend_reading, set_study_aside


class StudyAmend(PlaceEntry):
    """Correct a reading that was entered."""

    done = "Amended; what stood before and the reason stay on record."
    reading: StudyReading

    def load(self) -> None:
        super().load()
        self.reading = self.at(self.kwargs["place"])

    def make_form(self, data: Any = None) -> EntryForm:
        row = self.reading
        typed = {"text": row.typed, "unit": row.unit} if row.typed else self.study.length_unit
        return AmendReadingForm(data, initial={"travel": typed})

    def keep(self, entry: Entry) -> Any:
        return amend_reading(author=self.request.user, study=self.study, place=self.reading.place, entry=entry)

    def words(self) -> dict[str, Any]:
        row = self.reading
        return {
            "title": f"Amend place {row.place}",
            "lead": f"{row.part}, read by {row.technician.display_name}, trial {row.trial}: {row.typed} {row.unit}.",
            "button": "Amend it",
            "back": self.next_address(None),
        }


class StudySetAside(StudyEntry):
    """Give a study up."""

    done = "Set aside; it stays readable."

    def make_form(self, data: Any = None) -> EntryForm:
        return ReasonForm(data)

    def keep(self, entry: Entry) -> Any:
        return set_study_aside(author=self.request.user, study=self.study, entry=entry)

    def words(self) -> dict[str, Any]:
        return {
            "title": f"Set {self.study} aside",
            "lead": "It stays readable, but nothing can be entered or published of it any more.",
            "button": "Set it aside",
            "back": self.next_address(None),
        }
