"""The page of the fleet's policy."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from checks.models import Policy
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm
from checks.pages.numbers import share_text
from checks.pages.policy_form import PolicyForm, rules_told, values_now
from checks.pages.policy_words import effect_sentence
from checks.pages.study_depots import repeatability_lines
from checks.selectors.history import changes_of
from checks.selectors.policy import current_policy
from checks.selectors.policy_effect import policy_effect
from checks.selectors.risk import ModelRisk, model_risks
from checks.services.entry import Entry
from checks.services.policy import change_policy, policy_as_typed
from fleet.models import Membership
from fleet.problems import FleetError
from fleet.selectors import scope


class PolicyPage(EntryView):
    """Everybody reads the policy; a manager changes it."""

    template_name = "checks/policy.html"
    role = Membership.Role.VIEWER
    done = "The policy is changed."
    previewed: Policy | None = None

    def make_form(self, data: Any = None) -> EntryForm:
        return PolicyForm(data, initial=values_now(self.request.user))

    def keep(self, entry: Entry) -> Any:
        return change_policy(author=self.request.user, entry=entry)

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Change the policy, or with ``preview`` only show what the change would do."""
        if "preview" not in request.POST:
            return super().post(request, **address)
        form = self.make_form(request.POST)
        try:
            wanted = policy_as_typed(author=self.request.user, entry=form.entry)
        except FleetError as refusal:
            if refusal.status == 403:
                raise
            form.show(refusal)
            return self.page(form, status=422)
        self.previewed = wanted
        return self.page(form)

    def next_address(self, row: Any) -> str:
        return reverse("checks:policy")

    def words(self) -> dict[str, Any]:
        row = current_policy()
        return {
            "title": "Policy",
            "button": "Change the policy",
            "back": reverse("checks:policy"),
            "policy": row,
            "rules": rules_told(self.request.user),
            "changes": changes_of(row),
            "repeatabilities": repeatability_lines(self.request.user),
            "risks": [_risk(risk) for risk in model_risks(self.request.user, on=timezone.localdate())],
            "effect": self._effect(row),
            "manages": scope.holds(self.request.user, Membership.Role.MANAGER),
        }

    def _effect(self, now: Policy) -> dict[str, Any] | None:
        if self.previewed is None:
            return None
        found = policy_effect(user=self.request.user, now=now, then=self.previewed, today=timezone.localdate())
        return {
            "told": found,
            "sentence": effect_sentence(found),
            "basis": self.previewed.usage_basis != now.usage_basis,
        }


def _risk(risk: ModelRisk) -> dict[str, Any]:
    """A model's risks in words; a reason where there is nothing to tell."""
    row: dict[str, Any] = {"specification": risk.specification, "checks": risk.checks, "reason": risk.reason}
    if risk.risks is None:
        return row
    return row | {
        "passed": share_text(risk.risks.consumer),
        "held": share_text(risk.risks.producer),
        "inside": share_text(risk.risks.inside),
    }
