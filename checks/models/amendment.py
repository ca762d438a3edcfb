"""Corrections of signed checks: the signed rows stay as they were signed."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from checks.models.check import Check
from fleet.models.constraints import rule


class Amendment(models.Model):
    """A correction of a signed check: what was, what is, who says so and why. The newest per field holds."""

    check_made = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="amendments")
    field = models.CharField(max_length=60, help_text="Field name, or 'as_found.7.travel' for a reading.")
    old_value = models.TextField(blank=True)
    new_value = models.TextField(blank=True)
    reason = models.TextField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [rule("amendment_has_reason", ~Q(reason=""), "Say why the record is amended.")]

    def __str__(self) -> str:
        return f"{self.field}: {self.old_value} to {self.new_value}"
