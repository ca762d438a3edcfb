"""What the copying job writes; no constraint, so that a doubled row can stand there and be counted."""

from django.db import models


class Copied(models.Model):
    """One number, as often as it was written."""

    number = models.PositiveIntegerField()

    class Meta:
        app_label = "copying"
