"""Working through a recall: tell when it went wrong, accept units, close. Each step is a line of the trail."""

from datetime import timedelta

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from checks.models import Certificate, Recall, RecallEntry
from checks.selectors.recall import UnitToSee, units_of_recall
from checks.selectors.recalled import unjudged
from checks.services.entry import Entry, Reader
from checks.services.plan import replan
from checks.services.recall import note, units_of
from fleet.models import Membership, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors import scope

NAMED_MOST = 6


@transaction.atomic
def tell_day(*, author: User, recall: Recall, entry: Entry) -> Recall:
    """Say that the instrument went wrong at once on ``went_wrong_on`` with a ``reason`` how that is known.

    Earlier checks then stand. An empty day takes it back: nobody knows when.
    """
    row = _open(author, recall)
    reader = Reader(entry)
    first = row.since or None
    last = row.found.issued_on - timedelta(days=1)
    day = None
    if str(entry.get("went_wrong_on") or "").strip():
        day = reader.day("went_wrong_on", "The day on which it went wrong", latest=last)
        if day and first and day < first:
            sentence = f"It was found good on {first:%-d %b %Y}. Give a day between then and {last:%-d %b %Y}."
            reader.fault("went_wrong_on", "day_before_good", sentence)
    reason = reader.text("reason", "How it is known", longest=400, required=True)
    reader.refuse_faults()
    row.manner = Recall.Manner.AT_ONCE if day else Recall.Manner.UNKNOWN
    row.went_wrong_on = day
    row.save(update_fields=["manner", "went_wrong_on"])
    told = f"On {day:%-d %b %Y}: {reason}" if day else f"Nobody knows when: {reason}"
    note(row, RecallEntry.What.DAY_TOLD, told, author)
    replan(units_of(row))
    return row


@transaction.atomic
def accept_unit(*, author: User, recall: Recall, turbocharger: Turbocharger, entry: Entry) -> RecallEntry:
    """Accept a unit without another look, with a ``reason``."""
    row = _open(author, recall)
    reader = Reader(entry)
    reason = reader.text("reason", "The reason", longest=400, required=True)
    reader.refuse_faults()
    unit = next((one for one in units_of_recall(row) if one.turbocharger.pk == turbocharger.pk), None)
    if unit is None:
        raise FleetError("unit_not_recalled", "", f"No verdict of {turbocharger} changes in this recall.", status=409)
    if unit.state != "to_see":
        raise FleetError("unit_settled", "", f"{turbocharger} is settled already: {unit.word}.", status=409)
    entry_made = note(row, RecallEntry.What.ACCEPTED, reason, author, turbocharger)
    replan([turbocharger.pk])
    return entry_made


@transaction.atomic
def close_recall(*, author: User, recall: Recall, entry: Entry) -> Recall:
    """Close a recall with its ``conclusion``, once every unit was seen again, accepted or taken out of use."""
    row = _open(author, recall)
    reader = Reader(entry)
    conclusion = reader.text("conclusion", "What was decided", longest=2000, required=True)
    reader.refuse_faults()
    if unjudged(row)[0]:
        sentence = "Some checks are not judged with the error found yet. Wait for that job, then close the recall."
        raise FleetError("recall_not_judged", "conclusion", sentence, status=409)
    waiting = [unit for unit in units_of_recall(row) if unit.state == "to_see"]
    if waiting:
        raise FleetError("units_wait", "conclusion", _waiting_sentence(waiting), status=409)
    _close(row, RecallEntry.What.CLOSED, conclusion, author)
    return row


@transaction.atomic
def withdraw_recall(*, author: User, certificate: Certificate, reason: str) -> None:
    """Close the recall that a certificate entered in error had opened, if there is one."""
    row = Recall.objects.select_for_update().filter(found=certificate, closed_at__isnull=True).first()
    if row:
        told = f"Certificate {certificate.number} was entered in error: {reason}"
        _close(row, RecallEntry.What.WITHDRAWN, told, author)


def _open(author: User, recall: Recall) -> Recall:
    scope.require(author, Membership.Role.MANAGER, recall.instrument.depot)
    rows: QuerySet[Recall] = Recall.objects.select_for_update(of=("self",)).select_related("instrument", "found")
    row = rows.get(pk=recall.pk)
    if row.closed_at is not None:
        day = timezone.localtime(row.closed_at)
        raise FleetError("recall_closed", "", f"This recall was closed on {day:%-d %b %Y}.", status=409)
    return row


def _close(row: Recall, what: str, conclusion: str, author: User) -> None:
    row.closed_at, row.conclusion = timezone.now(), conclusion
    row.save(update_fields=["closed_at", "conclusion"])
    note(row, what, conclusion, author)
    replan(units_of(row))


def _waiting_sentence(waiting: list[UnitToSee]) -> str:
    names = [unit.turbocharger.serial for unit in waiting]
    named = ", ".join(names[:NAMED_MOST]) + (f" and {len(names) - NAMED_MOST} more" if len(names) > NAMED_MOST else "")
    wait = "unit waits" if len(names) == 1 else "units wait"
    return f"{len(names)} {wait}: {named}. See them again, or accept them with a reason, then close the recall."
