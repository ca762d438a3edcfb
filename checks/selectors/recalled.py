"""Which checks a recall is about, and what it changes: what services, plans and pages share."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from checks.models import Amendment, Assessment, Check, Recall, RecalledStroke, RecallEntry
from checks.rules.recall import Part
from checks.rules.recheck.unit import Recalled
from checks.selectors.amended import INSTRUMENTS, instrument_pk
from checks.selectors.days import begin_of
from fleet.models import Membership, User
from fleet.selectors import scope
from fleet.selectors.clock import day_in

PARTS = {"dial": Part.DIAL, "stimulus": Part.STIMULUS, "meter": Part.METER}
# A day and the time zones on either side of it.
MARGIN = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Use:
    """A check that was made with the instrument, as which part and on which day of its depot."""

    check: int
    part: Part
    on: date


def uses_of(recall: Recall) -> list[Use]:
    """Checks made with the instrument from the good certificate's day to the one before the bad one's; two queries.

    Amended instruments and times count as amended.
    """
    until = recall.found.issued_on
    near = Q(made_at__lt=begin_of(until) + MARGIN)
    if recall.since:
        near &= Q(made_at__gt=begin_of(recall.since) - MARGIN)
    used = Q()
    for field in PARTS:
        used |= Q(**{INSTRUMENTS[field]: recall.instrument_id})
    ends = Amendment.objects.filter(
        field__in=[*PARTS, "made_at"], check_made=OuterRef("pk"), new_value__endswith=f"#{recall.instrument_id}"
    )
    moved = Amendment.objects.filter(field="made_at", check_made=OuterRef("pk"))
    rows = Check.objects.filter((near & (used | Exists(ends))) | (used & Exists(moved)))
    tools_of = [INSTRUMENTS[name] for name in PARTS]
    found = list(rows.order_by("pk").values("pk", "made_at", "depot__time_zone", *tools_of))
    amended = _amended([row["pk"] for row in found])
    uses = []
    for row in found:
        of = amended.get(row["pk"], {})
        made_at = parse_datetime(of.get("made_at", "")) or row["made_at"]
        on = day_in(row["depot__time_zone"], made_at)
        tools = {field: instrument_pk(of[field]) if field in of else row[INSTRUMENTS[field]] for field in PARTS}
        part = next((PARTS[field] for field, pk in tools.items() if pk == recall.instrument_id), None)
        if part and on < until and (recall.since is None or on >= recall.since):
            uses.append(Use(row["pk"], part, on))
    return uses


def unjudged(recall: Recall) -> tuple[list[Use], int]:
    """Uses with a verdict that was not judged again in this recall yet, and how many uses there are."""
    uses = uses_of(recall)
    judged = RecalledStroke.objects.filter(recall=recall, original=OuterRef("pk"))
    open_verdicts = Assessment.objects.filter(
        ~Exists(judged), stroke__check_made__in=[use.check for use in uses], is_current=True
    )
    waiting = set(open_verdicts.values_list("stroke__check_made", flat=True))
    return [use for use in uses if use.check in waiting], len(uses)


def standing_strokes(recalls: Iterable[int] | None = None) -> QuerySet[RecalledStroke]:
    """Strokes that are still suspect: the verdict counts, and the check was not made before a known day."""
    rows = RecalledStroke.objects.filter(original__is_current=True).exclude(
        recall__went_wrong_on__isnull=False, made_on__lt=F("recall__went_wrong_on")
    )
    return rows if recalls is None else rows.filter(recall__in=list(recalls))


def suspect_strokes() -> QuerySet[RecalledStroke]:
    """Suspect strokes of recalls that are open."""
    return standing_strokes().filter(recall__closed_at__isnull=True)


def flipped(rows: QuerySet[RecalledStroke]) -> QuerySet[RecalledStroke]:
    """Of those, the ones whose verdict changes; where the day is known only the whole error counts."""
    full = ~Q(full_state=F("original__state"))
    return rows.filter(full | (Q(recall__manner=Recall.Manner.UNKNOWN) & ~Q(grown_state=F("original__state"))))


def units_to_see(turbocharger_ids: Sequence[int]) -> dict[int, Recalled]:
    """Of these units, the ones that an open recall wants seen again; two queries while any recall is open, else one."""
    opened = {row.pk: row for row in Recall.objects.filter(closed_at__isnull=True).select_related("instrument")}
    if not opened:
        return {}
    rows = flipped(standing_strokes(opened)).filter(
        original__stroke__check_made__turbocharger__in=list(turbocharger_ids)
    )
    rows = rows.filter(~Exists(seen_since()), ~Exists(accepted()))
    out: dict[int, Recalled] = {}
    pairs = rows.order_by("recall", "pk").values_list("original__stroke__check_made__turbocharger", "recall")
    for unit, recall in pairs:
        day = timezone.localtime(opened[recall].opened_at).date()
        out.setdefault(unit, Recalled(recall=recall, on=day, instrument=str(opened[recall].instrument)))
    return out


def seen_since() -> QuerySet[Check]:
    """Sound checks of the same unit after the recalled one, made without the wrong instrument; for a subquery."""
    void = Assessment.objects.filter(is_current=True, stroke__check_made=OuterRef("pk"), state="void")
    told = Assessment.objects.filter(is_current=True, stroke__check_made=OuterRef("pk"))
    suspect = suspect_strokes().filter(original__stroke__check_made=OuterRef("pk"))
    return Check.objects.filter(
        ~Exists(suspect),
        ~Exists(void),
        Exists(told),
        turbocharger=OuterRef("original__stroke__check_made__turbocharger"),
        made_at__gt=OuterRef("original__stroke__check_made__made_at"),
    )


def accepted() -> QuerySet[RecallEntry]:
    """Acceptances of the same unit in the same recall; for a subquery."""
    return RecallEntry.objects.filter(
        recall=OuterRef("recall"),
        what=RecallEntry.What.ACCEPTED,
        turbocharger=OuterRef("original__stroke__check_made__turbocharger"),
    )


def recalls_of_checks(check_ids: Iterable[int]) -> dict[int, Recall]:
    """The open recall of each check that was judged with a wrong instrument; one query."""
    rows = suspect_strokes().filter(original__stroke__check_made__in=list(check_ids))
    rows = rows.select_related("recall__instrument__depot", "original__stroke").defer(
        "full", "grown", "original__result"
    )
    return {row.original.stroke.check_made_id: row.recall for row in rows}


def recall_of(user: User, check_id: int) -> dict[str, Any]:
    """The open recall of one check, if there is one, and whether `user` may open its page: for a page's context."""
    recall = recalls_of_checks([check_id]).get(check_id)
    may_open = recall is not None and scope.holds(user, Membership.Role.VIEWER, recall.instrument.depot)
    return {"recall": recall, "may_open_recall": may_open}


def _amended(check_ids: list[int]) -> dict[int, dict[str, str]]:
    rows = Amendment.objects.filter(check_made__in=check_ids, field__in=[*PARTS, "made_at"])
    out: dict[int, dict[str, str]] = {}
    for check, field, value in rows.order_by("made_at", "pk").values_list("check_made", "field", "new_value"):
        out.setdefault(check, {})[field] = value
    return out
