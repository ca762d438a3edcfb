"""The pages that a person opens, taken from the table of addresses: a new address counts as soon as it stands there."""

from typing import Any

from django.urls import reverse

from tests.house.url_table import FOR_SCRIPTS, MANAGER, OPERATOR, RULES, TECHNICIAN

# Files, pictures, and parts of a page that a page fetches itself.
NO_PAGES = {
    "api-schema",
    "checks:photo",
    "fleet:import_empty",
    "fleet:import_refused",
    "fleet:trip_progress",
    "fleet:trip_refused",
    "jobs:progress",
    "reports:complaint_study_file",
    "reports:fuel_file",
    "reports:life_file",
    "reports:lives_file",
    "reports:restored_file",
    "reports:review_file",
    "reports:review_progress",
    "reports:study_file",
} | FOR_SCRIPTS
# Opened without a name.
FOR_STRANGERS = ("login", "checks:tablet")
# Programs ask for these, or they lead elsewhere. Two have tests of their own: the page of the first person, which only
# an empty installation has, and the second step of signing in.
NOT_FOR_STRANGERS = {
    "health", "health_live", "health_ready", "metrics", "admin_sign_in", "logout", "reports:calendar",
    "checks:tablet_worker", "checks:tablet_manifest", "checks:tablet_session",
    "fleet:begin", "second_step",
}  # fmt: skip
PAGES = sorted(
    name for name, rule in RULES.items() if rule.reads and not name.startswith("api-") and name not in NO_PAGES
)


def opener(name: str) -> str:
    """Whoever may do most on a page."""
    return next((one for one in (OPERATOR, MANAGER) if one in RULES[name].reads), TECHNICIAN)


def address_of(name: str, world: Any) -> str:
    """The address of a page with the world's row in it."""
    return reverse(name, kwargs=RULES[name].words(world) if name in RULES else {})
