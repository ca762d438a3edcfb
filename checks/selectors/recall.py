"""Recalls as pages, programs and the review read them."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from checks.models import Check, Recall, RecalledStroke, RecallEntry
from checks.selectors.days import begin_of, day_at
from checks.selectors.recalled import flipped, seen_since, standing_strokes
from fleet.models import Depot, Fitment, Membership, Turbocharger, User
from fleet.selectors import scope

CHECK = "original__stroke__check_made"
UNIT_STATES = {
    "to_see": "to be seen again",
    "seen": "seen again",
    "accepted": "accepted",
    "not_in_use": "not in use",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallRow:
    """A recall in numbers: its checks, the verdicts that change, and the units that still wait."""

    recall: Recall
    checks: int
    flips: int
    waiting: int
    first_on: date | None

    @property
    def is_open(self) -> bool:
        return self.recall.closed_at is None


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeRow:
    """One stroke with its three verdicts; ``flips`` where one changes that counts."""

    row: RecalledStroke
    check: Check
    flips: bool

    @property
    def states(self) -> tuple[str, str, str]:
        return self.row.original.state, self.row.full_state, self.row.grown_state


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitToSee:
    """A unit whose verdict changes, and how far the work on it is."""

    turbocharger: Turbocharger
    state: str
    depot: str
    seen: Check | None = None
    seen_on: date | None = None
    acceptance: RecallEntry | None = None

    @property
    def word(self) -> str:
        return UNIT_STATES[self.state]


def recalls_visible(user: User, *, role: str = Membership.Role.VIEWER) -> QuerySet[Recall]:
    """Recalls of instruments of the depots where `user` holds at least `role`."""
    rows = Recall.objects.select_related("instrument__depot", "found")
    return rows.filter(instrument__depot__in=scope.depots_of(user, role=role))


def recall_rows(recalls: Iterable[Recall]) -> list[RecallRow]:
    """Recalls in numbers, those open first, then the newest; five queries for any number of them."""
    found = list(recalls)
    standing = standing_strokes([recall.pk for recall in found])
    checks: dict[int, dict[int, date]] = defaultdict(dict)
    for recall, check, day in standing.order_by().values_list("recall", CHECK, "made_on"):
        checks[recall][check] = day
    flips = Counter(flipped(standing).order_by().values_list("recall", flat=True))
    waiting = Counter(recall for recall, state in _unit_states(found) if state == "to_see")
    rows = [
        RecallRow(
            recall=recall,
            checks=len(checks[recall.pk]),
            flips=flips[recall.pk],
            waiting=waiting[recall.pk],
            first_on=min(checks[recall.pk].values(), default=None),
        )
        for recall in found
    ]
    return sorted(rows, key=lambda row: (not row.is_open, -row.recall.opened_at.timestamp()))


def recalls(depots: Iterable[Depot], *, since: date, until: date) -> list[RecallRow]:
    """Recalls of depots that were open at any time of a period, both days included."""
    rows = Recall.objects.select_related("instrument__depot", "found").filter(
        instrument__depot__in=list(depots), opened_at__lt=begin_of(until + timedelta(days=1))
    )
    return recall_rows(row for row in rows if row.closed_at is None or row.closed_at >= begin_of(since))


def strokes_of_recall(recall: Recall, user: User | None = None) -> list[StrokeRow]:
    """The suspect strokes in the order of their checks, of the depots that `user` may see; three queries."""
    rows = standing_strokes([recall.pk])
    changed = set(flipped(rows).values_list("pk", flat=True))
    if user is not None:
        rows = rows.filter(original__stroke__check_made__depot__in=scope.depots_of(user))
    rows = rows.select_related(
        "original__specification__turbocharger_model", "original__stroke__check_made__turbocharger",
        "original__stroke__check_made__depot",
    ).order_by("made_on", "original__stroke__check_made__made_at", "original__stroke__moment")  # fmt: skip
    return [StrokeRow(row=row, check=row.original.stroke.check_made, flips=row.pk in changed) for row in rows]


def units_of_recall(recall: Recall, user: User | None = None) -> list[UnitToSee]:
    """Units whose verdict changes, of the depots that `user` may see, those that wait first; five queries."""
    seen_by = _looks([recall], user)[recall.pk]
    accepted = {
        row.turbocharger_id: row
        for row in recall.entries.filter(what=RecallEntry.What.ACCEPTED).select_related("author")
    }
    seen_rows = Check.objects.select_related("depot").in_bulk([pk for pk in seen_by.values() if pk])
    out = []
    for row in _with_fitted(seen_by).select_related("model", "depot"):
        look = seen_rows.get(seen_by[row.pk] or 0)
        out.append(
            UnitToSee(
                turbocharger=row,
                state=_unit_state(
                    seen=bool(look), accepted=row.pk in accepted, in_use=row.fitted and row.scrapped_on is None
                ),
                depot=str(row.depot or ""),
                seen=look,
                seen_on=day_at(look.depot, look.made_at) if look else None,
                acceptance=accepted.get(row.pk),
            )
        )
    order = list(UNIT_STATES)
    return sorted(out, key=lambda one: (order.index(one.state), one.turbocharger.serial))


def _unit_states(recalls: Sequence[Recall]) -> Iterator[tuple[int, str]]:
    """Of each recall the state of each unit whose verdict changes; three queries."""
    looks = _looks(recalls)
    accepted = set(
        RecallEntry.objects.filter(recall__in=recalls, what=RecallEntry.What.ACCEPTED).values_list(
            "recall", "turbocharger"
        )
    )
    units = _with_fitted({unit for seen_by in looks.values() for unit in seen_by})
    in_use = set(units.filter(fitted=True, scrapped_on__isnull=True).values_list("pk", flat=True))
    for recall, seen_by in looks.items():
        for unit, seen in seen_by.items():
            yield (
                recall,
                _unit_state(seen=seen is not None, accepted=(recall, unit) in accepted, in_use=unit in in_use),
            )


def _looks(recalls: Sequence[Recall], user: User | None = None) -> dict[int, dict[int, int | None]]:
    """Of each recall the units whose verdict changes, with the check that saw each again; one query."""
    later = seen_since().order_by("made_at", "pk").values("pk")[:1]
    pairs = flipped(standing_strokes([recall.pk for recall in recalls])).annotate(seen=Subquery(later))
    if user is not None:
        pairs = pairs.filter(original__stroke__check_made__depot__in=scope.depots_of(user))
    out: dict[int, dict[int, int | None]] = defaultdict(dict)
    # A later stroke that changes needs a later look.
    for recall, unit, seen in pairs.order_by("made_on", "pk").values_list("recall", f"{CHECK}__turbocharger", "seen"):
        out[recall][unit] = seen
    return out


def _with_fitted(units: Iterable[int]) -> QuerySet[Any]:
    """These units with ``fitted``, whether each sits on an engine now."""
    fitted = Fitment.objects.filter(turbocharger=OuterRef("pk"), removed_on__isnull=True)
    return Turbocharger.objects.filter(pk__in=list(units)).annotate(fitted=Exists(fitted))


def _unit_state(*, seen: bool, accepted: bool, in_use: bool) -> str:
    if seen or accepted:
        return "seen" if seen else "accepted"
    return "to_see" if in_use else "not_in_use"
