"""Where trucks live and checks are made."""

from django.db import models
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from fleet.models.constraints import rule


class Depot(models.Model):
    """A depot with its bay. ``checks_per_day`` is the number of checks that the bay can make on a working day."""

    code = models.SlugField(max_length=12, unique=True, help_text="Short name for lists and files, such as SALT.")
    name = models.CharField(max_length=80, unique=True)
    time_zone = models.CharField(max_length=64, default="UTC", help_text="IANA name, such as Europe/London.")
    checks_per_day = models.PositiveSmallIntegerField(default=4)
    working_days = models.CharField(
        max_length=7, default="12345", help_text="Days on which the bay works, Monday 1 to Sunday 7."
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="depot_name_once",
                violation_error_code="depot_name_once",
                violation_error_message="Another depot already has this name.",
            ),
            rule(
                "depot_working_days",
                models.Q(working_days__regex=r"^1?2?3?4?5?6?7?$") & ~models.Q(working_days=""),
                "Name at least one working day, each once and in order: 1 for Monday to 7 for Sunday.",
            ),
            rule("depot_name_given", ~models.Q(name=""), "Give the depot a name."),
        ]

    def __str__(self) -> str:
        return self.name
