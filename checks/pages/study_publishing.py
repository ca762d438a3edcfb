"""Publishing a study and withdrawing it again."""

from typing import Any

from checks.models import Publication
from checks.pages.fields import EntryForm
from checks.pages.numbers import quantity_text
from checks.pages.study import key_of
from checks.pages.study_entry import StudyEntry
from checks.pages.study_forms import PublishForm, ReasonForm
from checks.selectors.study import told_of
from checks.services.entry import Entry
from checks.services.study_publication import publish_study, withdraw_publication
from fleet.problems import FleetError


class StudyPublish(StudyEntry):
    """Let the study count for its depot."""

    done = "Published. Checks made from now on go by this study."

    def make_form(self, data: Any = None) -> EntryForm:
        return PublishForm(data)

    def keep(self, entry: Entry) -> Any:
        reason, key = str(entry.get("reason") or ""), key_of(entry)
        return publish_study(study=self.study, user=self.request.user, reason=reason, key=key)

    def words(self) -> dict[str, Any]:
        return {
            "title": f"Publish {self.study}",
            "lead": self._lead(),
            "button": "Publish it",
            "back": self.next_address(None),
        }

    def _lead(self) -> str:
        told, user = told_of(self.study), self.request.user
        if told.analysis is None:
            return f"It cannot be published yet. {told.refusal}"
        figures = told.analysis.figures()
        repeat = quantity_text(figures.repeatability_mm, "mm", user, digits=3)
        between = quantity_text(figures.reproducibility_mm, "mm", user, digits=3)
        return (
            f"Checks made at {self.study.depot} from now on then carry a repeatability of {repeat} and a "
            f"reproducibility of {between} in their uncertainty. Verdicts given before stay."
        )


class StudyWithdraw(StudyEntry):
    """Let the study count no more."""

    done = "Withdrawn. Checks made from now on go by the assumed repeatability; verdicts given before stay."

    def make_form(self, data: Any = None) -> EntryForm:
        return ReasonForm(data)

    def keep(self, entry: Entry) -> Any:
        reason = str(entry.get("reason") or "")
        return withdraw_publication(publication=self._counting(), user=self.request.user, reason=reason)

    def _counting(self) -> Publication:
        counting = self.study.publications.filter(ended_at__isnull=True).first()
        if counting is None:
            raise FleetError("not_published", "", "This study does not count at the moment.", status=409)
        return counting

    def words(self) -> dict[str, Any]:
        return {
            "title": f"Withdraw {self.study}",
            "lead": f"Checks of {self.study.depot} then go by the assumed repeatability again. What was judged stays.",
            "button": "Withdraw it",
            "back": self.next_address(None),
        }
