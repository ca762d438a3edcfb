"""Days of the bay from today on."""

from datetime import timedelta

from django.utils import timezone


def ahead(days):
    """The day some days from today."""
    return timezone.localdate() + timedelta(days=days)
