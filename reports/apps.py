"""The reports as a Django app."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """What people look at and take away."""

    name = "reports"
    verbose_name = "Reports"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the jobs that this app does."""
        from fleet.jobs.registry import on_tick, register

        register("morning-mail", "reports.jobs.morning_mail.send_morning_mail", label="morning mail of a depot")
        register("make-review", "reports.jobs.review.make_review", label="monthly review")
        on_tick("reports.jobs.morning_mail.ask_for_mails")
        on_tick("reports.jobs.review.ask_for_reviews")
