"""The checks as a Django app."""

from django.apps import AppConfig

# Kind, what does it, and its name as a person reads it.
JOBS = (
    ("re-judge", "checks.jobs.assessment.rejudge", "judge a model's checks again"),
    ("level-depot", "checks.jobs.bay.level_bay", "plan a depot's bay"),
    ("refit", "checks.jobs.drift.refit_model", "fit a model's drift and look ahead"),
    ("sweep", "checks.jobs.drift.sweep", "look ahead for the whole fleet"),
    ("form-moments", "checks.jobs.moments.form_moments", "form the months of the trucks"),
    ("fit-fuel", "checks.jobs.fuel.fit_fuel", "fit fuel use against travel"),
    ("restorations", "checks.jobs.fuel.tell_restorations", "tell what restored units gave back"),
    ("correlate-complaints", "checks.jobs.fuel.correlate_complaints", "set fuel complaints against travel"),
    ("fit-life", "checks.jobs.life.tell_life", "tell how long settings last"),
    ("recall", "checks.jobs.recall.judge_recall", "judge again what a recalled instrument measured"),
)
AT_EVERY_BEAT = (
    "checks.services.moments.form_if_stale",
    "checks.services.recall.judge_stale",
    "checks.services.plan.replan_stale",
    "checks.services.complaint_study.correlate_if_stale",
    "checks.jobs.drift.refit_stale",
    "checks.jobs.drift.sweep_nightly",
    "checks.services.bay.level_stale",
)


class ChecksConfig(AppConfig):
    """The check, its verdict, and what follows from it."""

    name = "checks"
    verbose_name = "Checks"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the jobs that this app does."""
        from fleet.imports.trips.months import let_form
        from fleet.jobs.registry import on_tick, register

        for kind, does, label in JOBS:
            register(kind, does, label=label)
        for upkeep in AT_EVERY_BEAT:
            on_tick(upkeep)
        let_form("checks.services.moments.form_whole")
