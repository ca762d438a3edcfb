"""The form of the fleet's policy: each rule by its group, with what it means, and as it holds now."""

from typing import Any

from checks.display import distance_text
from checks.models.forecast import Basis
from checks.pages.fields import EntryForm, choice_field, own_unit, quantity_field, reason_field, whole_field
from checks.pages.numbers import quantity_text
from checks.selectors.policy import current_policy
from checks.services.policy import CHANCES, DISTANCE
from fleet.models import User

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
        self.fields["reason"] = reason_field("Why it is changed")
        self.groups = [*groups.items(), ("Reason", ["reason"])]


def _field(name: str, label: str, hint: str) -> Any:
    if name in CHANCES:
        return quantity_field(label, ("%",), hint=hint)
    if name == "usage_basis":
        return choice_field(label, Basis.choices, hint=hint)
    if "km" in name.split("_"):
        return quantity_field(label, DISTANCE, hint=hint)
    return whole_field(f"{label}, days", hint=hint)


def values_now(user: User) -> dict[str, Any]:
    """The policy as the form begins with it."""
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


def rules_told(user: User) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """Each group with its rules as they hold now: label, value, meaning."""
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
