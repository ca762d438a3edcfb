"""Photographs that stand beside a check: what the dial or the meter showed."""

import uuid

from django.conf import settings
from django.core.files.storage import Storage, storages
from django.db import models
from django.db.models import Q

from checks.models.check import Check
from fleet.models.constraints import rule


def photo_storage() -> Storage:
    """Where photographs are kept."""
    return storages["photos"]


def photo_name(photo: "CheckPhoto", sent_as: str) -> str:
    """Where a photograph lies: named by its key alone, whatever the device called it."""
    return f"{photo.key.hex[:2]}/{photo.key}.jpg"


class CheckPhoto(models.Model):
    """One photograph of a check. ``key`` is made on the device and makes sending it again harmless.

    ``sent_sha256`` is of the bytes that were sent, ``sha256`` of the picture kept, drawn anew without what the camera
    noted in it.
    """

    class What(models.TextChoices):
        DIAL = "dial", "dial indicator"
        METER = "meter", "gauge or meter"
        OTHER = "other", "something else"

    check_made = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="photos")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    what = models.CharField(max_length=8, choices=What)
    image = models.FileField(storage=photo_storage, upload_to=photo_name, max_length=80)
    size = models.PositiveIntegerField("size in bytes")
    width = models.PositiveSmallIntegerField("width in pixels")
    height = models.PositiveSmallIntegerField("height in pixels")
    sha256 = models.CharField(max_length=64)
    sent_sha256 = models.CharField(max_length=64)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["added_at", "id"]
        constraints = [
            rule(
                "photo_not_empty", Q(size__gt=0, width__gt=0, height__gt=0), "The photograph is empty. Take it again."
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}, {self.check_made}"
