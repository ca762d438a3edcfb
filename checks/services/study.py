"""Entering a study: one reading at a time in its order, and mistakes amended with a reason."""

from statistics import median

from django.db import transaction
from django.utils import timezone

from checks.models import Study, StudyAmendment, StudyReading
from checks.services.entry import LENGTH, Doubts, Entry, Reader
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors import scope
from fleet.services.saving import save_checked

LONGEST_TYPED = 24
HIGHEST_MM = 100.0


@transaction.atomic
def enter_reading(*, author: User, study: Study, place: int, entry: Entry) -> StudyReading:
    """Keep the travel read at one place of the order: ``travel`` as [text, unit].

    The same reading sent twice is one. Raises Doubts, until ``confirmed``, where it lies far from what was read of
    the part before: without saying what that was, so that nobody reads towards it.
    """
    row = _to_write(author, study, place)
    reader = Reader(entry)
    travel = _travel(reader)
    reader.refuse_faults()
    text, unit = reader.typed["travel"]
    if row.travel_mm is not None:
        if (row.typed, row.unit) == (text, unit):
            return row
        sentence = f"Place {place} was entered as {row.typed} {row.unit} already. Amend it with a reason, or go on."
        raise FleetError("reading_entered", "travel", sentence, status=409)
    far_from = "" if travel is None or entry.get("confirmed") else _far_from(row, travel)
    if far_from:
        sentence = f"{text} {unit} lies far from {far_from}. Look at the point and the unit."
        raise Doubts([FleetError("reading_far", "travel", sentence)])
    row.travel_mm, row.typed, row.unit = travel, text, unit
    row.entered_by, row.entered_at = author, timezone.now()
    save_checked(row, user=author)
    return row


@transaction.atomic
def amend_reading(*, author: User, study: Study, place: int, entry: Entry) -> StudyReading:
    """Correct an entered reading to ``travel``, or take it back where that is empty, with a ``reason``."""
    row = _to_write(author, study, place)
    if row.travel_mm is None:
        raise FleetError("reading_not_entered", "", f"Place {place} is not read yet. Enter it.", status=409)
    reader = Reader(entry)
    travel = _travel(reader, required=False)
    reason = reader.text("reason", "The reason", longest=400, required=True)
    reader.refuse_faults()
    text, unit = reader.typed.get("travel", ["", ""])
    if (row.typed, row.unit) == (text, unit):
        raise FleetError("reading_same", "travel", f"{text} {unit} is what stands there. Nothing to amend.", status=409)
    new = f"{text} {unit}".strip()
    amendment = StudyAmendment(
        reading=row, old_value=f"{row.typed} {row.unit}", new_value=new, reason=reason, author=author
    )
    row.travel_mm, row.typed, row.unit = travel, text, unit
    row.entered_by, row.entered_at = (author, timezone.now()) if new else (None, None)
    save_checked(row, user=author)
    save_checked(amendment, user=author)
    return row


@transaction.atomic
def set_study_aside(*, author: User, study: Study, entry: Entry) -> Study:
    """Give a study up with a ``reason``: it stays readable and cannot be entered or published any more."""
    row = locked_study(study)
    scope.require(author, Membership.Role.MANAGER, row.depot)
    refuse_set_aside(row)
    reader = Reader(entry)
    reason = reader.text("reason", "The reason", longest=400, required=True)
    reader.refuse_faults()
    _refuse_published(row, "set it aside")
    row.set_aside_at, row.set_aside_by, row.set_aside_reason = timezone.now(), author, reason
    save_checked(row, user=author)
    return row


def locked_study(study: Study) -> Study:
    """The study, held until the transaction ends."""
    rows = Study.objects.select_for_update(of=("self",)).select_related("depot", "specification__turbocharger_model")
    return rows.get(pk=study.pk)


def refuse_set_aside(study: Study) -> None:
    """Refuse work on a study that was given up."""
    if study.set_aside_at is not None:
        sentence = f"This study was set aside: {study.set_aside_reason} Plan another."
        raise FleetError("study_set_aside", "", sentence, status=409)


def _refuse_published(study: Study, what: str) -> None:
    if study.publications.filter(ended_at__isnull=True).exists():
        sentence = f"This study is published and counts for {study.depot}. Withdraw the publication, then {what}."
        raise FleetError("study_published", "", sentence, status=409)


def _to_write(author: User, study: Study, place: int) -> StudyReading:
    held = locked_study(study)
    scope.require(author, Membership.Role.TECHNICIAN, held.depot)
    refuse_set_aside(held)
    _refuse_published(held, "amend the reading")
    row = held.readings.select_related("part", "study__specification").filter(place=place).first()
    if row is None:
        raise FleetError("no_such_place", "place", f"The order of this study has no place {place}.", status=404)
    return row


def _travel(reader: Reader, *, required: bool = True) -> float | None:
    travel = reader.quantity("travel", "The travel", LENGTH, low=0.0, high=HIGHEST_MM, required=required)
    if len(reader.typed.get("travel", [""])[0]) > LONGEST_TYPED:
        sentence = f"The travel has more than {LONGEST_TYPED} characters. Enter a plain number."
        reader.fault("travel", "too_long", sentence)
    return travel


def _far_from(row: StudyReading, travel_mm: float) -> str:
    """What a travel lies far from: the middle reading of its part (half the window's width), or else the window."""
    limits = row.study.specification
    reach = (limits.upper_mm - limits.lower_mm) / 2
    rows = row.part.readings.values_list("travel_mm", flat=True)
    known = [travel for travel in rows if travel is not None]
    if known:
        return f"the readings of {row.part} so far" if abs(travel_mm - median(known)) > reach else ""
    inside = limits.lower_mm - 2 * reach <= travel_mm <= limits.upper_mm + 2 * reach
    return "" if inside else "the window"
