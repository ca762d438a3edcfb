"""Checks begun and not signed yet."""

import uuid

from django.conf import settings
from django.db import models

from fleet.models import Turbocharger


class Draft(models.Model):
    """A check begun in the browser and not signed yet: every step's answers, so that a reload loses nothing."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    turbocharger = models.ForeignKey(Turbocharger, on_delete=models.CASCADE, related_name="drafts")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="drafts")
    step = models.CharField(max_length=24)
    answers = models.JSONField(default=dict)
    begun_at = models.DateTimeField(auto_now_add=True)
    touched_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-touched_at"]

    def __str__(self) -> str:
        return f"{self.turbocharger}, step {self.step}"
