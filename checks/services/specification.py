"""Writing specifications: add, correct while unused, revise, end."""

from django.db import transaction

from checks.models import Check, SpecificationRevision
from checks.selectors.specification import is_used
from checks.services.doubts import doubts_of
from checks.services.entry import Doubts, Entry, Reader, keep
from checks.services.specification_fields import fill, latest_day
from fleet.models import Membership, TurbochargerModel, User
from fleet.problems import FleetError
from fleet.selectors import scope

PLACES = {
    "revision_once_per_model": "revision",
    "one_revision_per_day": "effective_from",
    "limits_in_order": "nominal_mm",
    "limits_plausible": "upper_mm",
    "setting_below_maximum": "setting",
    "capture_tolerance_plausible": "capture_tolerance",
    "zero_tolerances_positive": "zero_tolerance_stimulus",
    "exercise_cycles_plausible": "exercise_cycles",
    "thread_pitch_plausible": "thread_pitch_mm",
    "adjustment_sign_known": "adjustment_sign",
    "effective_dates_in_order": "effective_to",
    "source_document_given": "source_document",
}


@transaction.atomic
def add_specification(*, author: User, turbocharger_model: TurbochargerModel, entry: Entry) -> SpecificationRevision:
    """Add a revision. `entry` holds texts and [text, unit] pairs by field name.

    Raises FleetErrors with every wrong field, or Doubts for values that look mistaken until `entry` says
    ``confirmed``.
    """
    scope.require(author, Membership.Role.MANAGER)
    row = SpecificationRevision(turbocharger_model=turbocharger_model, made_by=author)
    fill(row, entry)
    keep(row, author=author, places=PLACES)
    _refuse_doubts(row, entry)
    return row


@transaction.atomic
def correct_specification(*, author: User, specification: SpecificationRevision, entry: Entry) -> SpecificationRevision:
    """Correct a revision that no check was judged by yet; a used one is revised instead."""
    scope.require(author, Membership.Role.MANAGER)
    row = SpecificationRevision.objects.select_for_update().get(pk=specification.pk)
    if is_used(row):
        raise FleetError(
            "revision_in_use",
            "",
            f"Checks were judged by revision {row.revision}, so it stays as it is. Revise it: the new revision takes "
            "over from its first day, and older checks keep the one they were judged by.",
            status=409,
        )
    fill(row, entry)
    keep(row, author=author, places=PLACES, reason="corrected before use")
    _refuse_doubts(row, entry)
    return row


@transaction.atomic
def revise_specification(*, author: User, specification: SpecificationRevision, entry: Entry) -> SpecificationRevision:
    """Add the revision that takes over from `specification`; the old row is not touched.

    The newest revision whose dates hold is in force, so the old one needs no end.
    """
    return add_specification(author=author, turbocharger_model=specification.turbocharger_model, entry=entry)


@transaction.atomic
def end_specification(*, author: User, specification: SpecificationRevision, entry: Entry) -> SpecificationRevision:
    """Let a revision end on a day (``effective_to``), with a ``reason``; no check after it is judged by it."""
    scope.require(author, Membership.Role.MANAGER)
    row = SpecificationRevision.objects.select_for_update().get(pk=specification.pk)
    reader = Reader(entry)
    ends_on = reader.day("effective_to", "The last day", latest=latest_day())
    reason = reader.text("reason", "The reason", longest=100, required=True)
    later = Check.objects.filter(specification=row, made_at__date__gt=ends_on) if ends_on else Check.objects.none()
    if count := later.count():
        reader.fault(
            "effective_to",
            "checked_after_end",
            f"{count} checks made after {ends_on:%-d %b %Y} were judged by this revision. "
            "Choose the day of the last of them or a later one.",
        )
    reader.refuse_faults()
    row.effective_to = ends_on
    keep(row, author=author, places=PLACES, reason=reason)
    return row


def _refuse_doubts(row: SpecificationRevision, entry: Entry) -> None:
    """Doubts come last, when nothing is wrong for certain; raising them undoes the save."""
    if not entry.get("confirmed") and (doubts := doubts_of(row)):
        raise Doubts(doubts)
