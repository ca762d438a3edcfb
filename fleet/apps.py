"""The register as a Django app."""

from django.apps import AppConfig


class FleetConfig(AppConfig):
    """What exists and what happened to it."""

    name = "fleet"
    verbose_name = "Register"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Tell the ledger which jobs the register does."""
        from fleet.jobs.registry import on_tick, register

        register("bring-in-file", "fleet.imports.job.bring_in_file", label="bring a file into the register")
        register("bring-trips", "fleet.imports.trips.job.bring_trips", label="bring in trips")
        on_tick("fleet.imports.kept.clear_old")
        on_tick("fleet.services.keyed.clear_old_answers")
