"""The mark of a demonstration."""

from django.db import models
from django.db.models import Q

from fleet.models.constraints import rule


class Demonstration(models.Model):
    """That this fleet is invented: one row, written with the fleet by ``manage.py demo``.

    ``truth``: what was planted, as in ``fixtures/demo/truth.json``, its days counted from ``monday``. ``people``: who
    may sign in, what each is for, and the passwords, which everybody knows.
    """

    carrier = models.CharField(max_length=80)
    monday = models.DateField()
    loaded_at = models.DateTimeField()
    truth = models.JSONField()
    people = models.JSONField()

    class Meta:
        constraints = [
            # Without it a second load would leave two truths.
            rule("one_demonstration_row", Q(id=1), "There is one demonstration; load it into an empty database."),
        ]

    def __str__(self) -> str:
        return f"Demonstration of {self.carrier}"
