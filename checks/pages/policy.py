"""The page of the fleet's policy."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from checks.display import distance_text
from checks.models import Policy
from checks.models.forecast import Basis
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm, choice_field, own_unit, quantity_field, text_field, whole_field
from checks.pages.numbers import quantity_text, share_text
from checks.pages.policy_words import effect_sentence
from checks.pages.study_depots import repeatability_lines
from checks.selectors.history import changes_of
from checks.selectors.policy import current_policy
from checks.selectors.policy_effect import policy_effect
from checks.selectors.risk import ModelRisk, model_risks
from checks.services.entry import Entry
from checks.services.policy import CHANCES, DISTANCE, change_policy, policy_as_typed
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors import scope

# Group, field, label, what it means.
RULES = (
    (
        "Verdict",
        "inside_level",
        "Probability asked for 'inside'",
        "At least this: inside; at most what it leaves of 100 %: outside; between: undecided.",
    ),
    (
        "First look",
        "first_look_days",
        "Time after fitting",
        "A unit that was never checked is due this long after fitting,",
    ),
    ("First look", "first_look_km", "Distance after fitting", "or after this distance, whichever comes first."),
    ("Between checks", "calendar_max_days", "Longest time", "No unit goes longer without a check,"),
    ("Between checks", "usage_max_km", "Longest distance", "nor further."),
    ("After an adjustment", "after_adjustment_days", "Time", "An adjusted unit is seen again this soon,"),
    ("After an adjustment", "after_adjustment_km", "Distance", "or after this distance."),
    ("When something is open", "undecided_days", "Repeat an undecided check", "With better instruments."),
    ("When something is open", "void_days", "Repeat a void check", "There is no verdict until then."),
    (
        "When something is open",
        "outside_days",
        "Mend a unit left outside",
        "It was found outside and not brought back.",
    ),
    ("When something is open", "complaint_days", "Answer a complaint", "From the day it was raised."),
    (
        "Risk",
        "risk_level",
        "Chance of being outside that calls a unit in",
        "By the drift forecast: seen again before its chance of being outside is higher,",
    ),
    ("Risk", "risk_min_days", "Shortest time", "but no sooner after the last check than this."),
    (
        "Risk",
        "target_outside",
        "Share found outside that is aimed at",
        "At scheduled checks; the review of intervals goes by it.",
    ),
    ("About to leave", "horizon_days", "Look ahead", "A unit is called leaving when, within this time,"),
    ("About to leave", "leaving_level", "Chance of being outside", "its chance of being outside reaches this."),
    ("Use", "usage_basis", "Drift is counted in", "Every forecast is made anew when this changes."),
    ("Use", "fallback_km_per_day", "Distance a day where a truck's own is unknown", "Turns a distance into a date."),
)


class PolicyForm(EntryForm):
    """Every value of the policy, and why it is changed."""

    def __init__(self, data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        groups: dict[str, list[str]] = {}
        for group, name, label, hint in RULES:
            groups.setdefault(group, []).append(name)
            self.fields[name] = _field(name, label, hint)
        self.fields["reason"] = text_field("Why it is changed", hint="Kept in the record of changes.")
        self.groups = [*groups.items(), ("Reason", ["reason"])]


def _field(name: str, label: str, hint: str) -> Any:
    if name in CHANCES:
        return quantity_field(label, ("%",), hint=hint)
    if name == "usage_basis":
        return choice_field(label, Basis.choices, hint=hint)
    if "km" in name.split("_"):
        return quantity_field(label, DISTANCE, hint=hint)
    return whole_field(f"{label}, days", hint=hint)


def _values(user: User) -> dict[str, Any]:
    row = current_policy()
    values: dict[str, Any] = {}
    for _, name, _, _ in RULES:
        typed = row.typed.get(name)
        if name in CHANCES:
            values[name] = {"text": f"{100 * getattr(row, name):.10g}", "unit": "%"}
        elif name == "usage_basis":
            values[name] = row.usage_basis
        elif "km" not in name.split("_"):
            values[name] = getattr(row, name)
        elif typed:
            values[name] = {"text": typed[0], "unit": typed[1]}
        else:
            text, _, unit = quantity_text(getattr(row, name), "km", user, digits=6).rpartition(" ")
            values[name] = {"text": text, "unit": unit or own_unit(user, "km")}
    return values


class PolicyPage(EntryView):
    """Everybody reads the policy; a manager changes it."""

    template_name = "checks/policy.html"
    role = Membership.Role.VIEWER
    done = "The policy is changed."
    previewed: Policy | None = None

    def make_form(self, data: Any = None) -> EntryForm:
        return PolicyForm(data, initial=_values(self.request.user))

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
            "rules": _told(self.request.user),
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


def _told(user: User) -> list[tuple[str, list[tuple[str, str, str]]]]:
    row = current_policy()
    groups: dict[str, list[tuple[str, str, str]]] = {}
    for group, name, label, hint in RULES:
        value = getattr(row, name)
        if name in CHANCES:
            text = f"{100 * value:.10g} %"
        elif name == "usage_basis":
            text = row.get_usage_basis_display()
        else:
            text = distance_text(value, own_unit(user, "km")) if "km" in name.split("_") else f"{value} days"
        groups.setdefault(group, []).append((label, text, hint))
    return list(groups.items())
