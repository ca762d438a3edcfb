"""An app that only the load scripts install."""

import os

from django.apps import AppConfig


class CopyingConfig(AppConfig):
    """Registers its kind of job as any app does."""

    name = "tests.load.copying"
    label = "copying"
    path = __file__.rpartition("/")[0]

    def ready(self) -> None:
        from fleet.jobs import registry
        from tests.load.copying.jobs import copy

        registry.register("copy", copy, label="Copy numbers")
        if os.environ.get("QUIET_BEAT"):  # the beat puts back and rings, and asks for no work of its own
            registry._on_tick.clear()
        if doomed := os.environ.get("DOOMED"):
            from tests.load.faults.doom import doom

            kind, writes = doomed.split()
            doom(kind, int(writes))
