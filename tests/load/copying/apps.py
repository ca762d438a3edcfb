"""An app that only the load scripts install."""

from django.apps import AppConfig


class CopyingConfig(AppConfig):
    """Registers its kind of job as any app does."""

    name = "tests.load.copying"
    label = "copying"
    path = __file__.rpartition("/")[0]

    def ready(self) -> None:
        from fleet.jobs.registry import register
        from tests.load.copying.jobs import copy

        register("copy", copy, label="Copy numbers")
