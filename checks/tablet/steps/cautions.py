"""The cautions in full, read once."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from checks.services.faults import Faults
from checks.tablet.cautions import all_cautions
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet
from checks.tablet.sequence import Step
from checks.tablet.taken import Taken


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """Every caution, and whether they were read."""
    return {
        "cautions": all_cautions(desk.stimulus, desk.maximum),
        "read": bool(desk.answers.get("cautions_read_at")),
        "wrong_read": sheet.wrong_with("read"),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Note when the cautions were read; once is enough."""
    if desk.answers.get("cautions_read_at"):
        return Taken()
    faults = Faults()
    if post.get("read") != "yes":
        faults.add("cautions_unread", "read", "The cautions are not acknowledged. Read them, then tick the box.")
    faults.settle()
    return Taken({"cautions_read_at": timezone.now().isoformat()})
