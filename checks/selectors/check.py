"""Checks as they count today: amendments laid over, with the verdicts that are current."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from checks.models import Amendment, Assessment, Check, Reading, Stroke
from checks.selectors.amended import overlay
from fleet.models import User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRecord:
    """A current verdict on one stroke; lengths in mm."""

    pk: int
    moment: str
    state: str
    travel_mm: float | None
    expanded_uncertainty_mm: float | None
    p_inside: float | None
    specification: int
    revision: str
    basis: str
    made_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRecord:
    """One pair of indications as amended: converted values beside what was typed."""

    moment: str
    order: int
    phase: str
    stimulus: float
    stimulus_typed: str
    stimulus_unit: str
    travel_mm: float | None
    travel_typed: str
    travel_unit: str
    seconds: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRecord:
    """A check with what holds today; ``amendments`` says what was changed."""

    pk: int
    key: UUID
    turbocharger: int
    serial: str
    depot: str
    technician: str
    reason: str
    complaint: int | None
    made_at: datetime
    odometer_km: float | None
    engine_hours: float | None
    half_turns: int | None
    note: str
    specification: int
    revision: str
    verdicts: tuple[VerdictRecord, ...]
    readings: tuple[ReadingRecord, ...]
    amendments: tuple[dict[str, Any], ...]


def checks_of(user: User) -> QuerySet[Check]:
    """Checks at the depots of ``user``."""
    return visible_to(user, Check.objects.select_related("turbocharger", "depot", "technician", "specification"))


def check_of(user: User, pk: int) -> Check:
    """One check that ``user`` may see. Raises FleetError (404)."""
    found = checks_of(user).filter(pk=pk).first()
    if found is None:
        raise FleetError("no_such_check", "", "None of your depots has this check.", status=404)
    return found


def signed_check(*, user: User, key: UUID) -> Check | None:
    """The check that was signed under `key` by `user`, if it was: a second tap on 'sign' finds it."""
    return Check.objects.filter(key=key, technician=user).first()


def check_records(checks: Sequence[Check]) -> list[CheckRecord]:
    """Records of checks of ``checks_of``, in their order; four queries for any number."""
    ids = [check.pk for check in checks]
    current = Assessment.objects.filter(is_current=True).select_related("specification").defer("result")
    strokes = Stroke.objects.filter(check_made__in=ids).prefetch_related(
        Prefetch("readings", Reading.objects.order_by("order")), Prefetch("assessments", current)
    )
    by_check: dict[int, list[Stroke]] = {}
    for stroke in strokes.order_by("moment"):
        by_check.setdefault(stroke.check_made_id, []).append(stroke)
    amendments: dict[int, list[Amendment]] = {}
    for row in Amendment.objects.filter(check_made__in=ids).select_related("author").order_by("made_at", "pk"):
        amendments.setdefault(row.check_made_id, []).append(row)
    return [_record(check, by_check.get(check.pk, []), amendments.get(check.pk, [])) for check in checks]


def _record(check: Check, strokes: list[Stroke], amendments: list[Amendment]) -> CheckRecord:
    overlay(check, {stroke.moment: list(stroke.readings.all()) for stroke in strokes}, amendments)
    return CheckRecord(
        pk=check.pk,
        key=check.key,
        turbocharger=check.turbocharger_id,
        serial=check.turbocharger.serial,
        depot=check.depot.code,
        technician=check.technician.display_name,
        reason=check.reason,
        complaint=check.complaint_id,
        made_at=check.made_at,
        odometer_km=check.odometer_km,
        engine_hours=check.engine_hours,
        half_turns=check.half_turns,
        note=check.note,
        specification=check.specification_id,
        revision=check.specification.revision,
        verdicts=tuple(_verdict(stroke.moment, row) for stroke in strokes for row in stroke.assessments.all()),
        readings=tuple(_reading(stroke.moment, row) for stroke in strokes for row in stroke.readings.all()),
        amendments=tuple(amendment_facts(row) for row in amendments),
    )


def amendment_facts(row: Amendment) -> dict[str, Any]:
    """An amendment as it is shown: field, old and new value, reason, who and when."""
    return {
        "field": row.field,
        "old_value": row.old_value,
        "new_value": row.new_value,
        "reason": row.reason,
        "author": row.author.display_name,
        "made_at": row.made_at,
    }


def _verdict(moment: str, row: Assessment) -> VerdictRecord:
    return VerdictRecord(
        pk=row.pk,
        moment=moment,
        state=row.state,
        travel_mm=row.travel_mm,
        expanded_uncertainty_mm=row.expanded_uncertainty_mm,
        p_inside=row.p_inside,
        specification=row.specification_id,
        revision=row.specification.revision,
        basis=row.basis,
        made_at=row.made_at,
    )


def _reading(moment: str, row: Reading) -> ReadingRecord:
    names = [name for name in ReadingRecord.__dataclass_fields__ if name != "moment"]
    return ReadingRecord(moment=moment, **{name: getattr(row, name) for name in names})


def current_assessments(check: Check) -> list[Assessment]:
    """The verdicts that count on a check's strokes; one query."""
    rows = Assessment.objects.filter(stroke__check_made=check, is_current=True)
    return list(rows.select_related("stroke", "specification"))


def other_checks(check: Check, *, since: datetime) -> list[Check]:
    """Checks of the same unit that arrived from ``since`` on and before this one, the latest first; one query."""
    rows = Check.objects.filter(turbocharger=check.turbocharger_id, pk__lt=check.pk, recorded_at__gte=since)
    return list(rows.select_related("technician").order_by("-pk")[:5])
