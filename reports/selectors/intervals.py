"""Do the intervals between checks reach their target? Model by model."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from django.db.models import Count

from checks.models import Assessment, Check, Policy, Stroke
from checks.rules.intervals import IntervalReview, review_interval
from checks.selectors.policy import current_policy
from fleet.models import TurbochargerModel, User
from fleet.selectors.scope import visible_to

OUTSIDE = (Assessment.State.OUTSIDE_LOW, Assessment.State.OUTSIDE_HIGH)
_PERCENT = re.compile(r"(\d)%")
DECIDED = (Assessment.State.INSIDE, *OUTSIDE)


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRow:
    """One model: what its scheduled checks found, and the interval in use in days (median), None where unknown."""

    pk: int
    name: str
    review: IntervalReview
    undecided: int
    interval_days: float | None

    @property
    def advised_days(self) -> float | None:
        """The interval that the review leads to."""
        return None if self.interval_days is None else self.interval_days * self.review.factor


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalLine:
    """A row in words."""

    pk: int
    name: str
    checks: int
    undecided: int
    outside: int
    share: str
    interval: str
    advice: str
    advised: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalPage:
    """Everything that the page shows."""

    rows: list[IntervalRow]
    policy: Policy

    @property
    def target(self) -> str:
        """The share aimed at."""
        return f"{100 * self.policy.target_outside:g} %"

    @property
    def lines(self) -> list[IntervalLine]:
        """The rows in words."""
        return [_line(row) for row in self.rows]


def interval_page(*, user: User) -> IntervalPage:
    """The review over checks at the depots of `user`. Five queries."""
    policy = current_policy()
    found = _found(user)
    days = _intervals(user)
    rows = [
        _row(model, found.get(model.pk, {}), days.get(model.pk, []), policy.target_outside)
        for model in TurbochargerModel.objects.order_by("name")
    ]
    return IntervalPage(rows=rows, policy=policy)


def _found(user: User) -> dict[int, dict[str, int]]:
    """Per model, how many scheduled checks found the unit in each state."""
    judged = visible_to(user, Assessment.objects.all(), depot="stroke__check_made__depot")
    rows = (
        judged.filter(
            is_current=True,
            stroke__moment=Stroke.Moment.AS_FOUND,
            stroke__check_made__reason=Check.Reason.SCHEDULED,
        )
        .order_by()
        .values_list("stroke__check_made__turbocharger__model", "state")
        .annotate(Count("pk"))
    )
    found: dict[int, dict[str, int]] = {}
    for model, state, count in rows:
        found.setdefault(model, {})[state] = count
    return found


def _intervals(user: User) -> dict[int, list[float]]:
    """Per model, days between a scheduled check and the check before it of the same unit."""
    checks = visible_to(user, Check.objects.all(), depot="depot").order_by("turbocharger", "made_at", "pk")
    rows = checks.values_list("turbocharger__model", "turbocharger", "made_at", "reason")
    days: dict[int, list[float]] = {}
    for (_, unit, at, _), (model, same, later, reason) in pairwise(rows.iterator(chunk_size=5000)):
        if unit == same and reason == Check.Reason.SCHEDULED:
            days.setdefault(model, []).append((later - at).total_seconds() / 86_400)
    return days


def _row(model: TurbochargerModel, found: dict[str, int], days: Sequence[float], target: float) -> IntervalRow:
    outside = sum(found.get(state, 0) for state in OUTSIDE)
    return IntervalRow(
        pk=model.pk,
        name=model.name,
        review=review_interval(sum(found.get(state, 0) for state in DECIDED), outside, target),
        undecided=found.get(Assessment.State.UNDECIDED, 0),
        interval_days=float(np.median(days)) if days else None,
    )


def _line(row: IntervalRow) -> IntervalLine:
    review = row.review
    share = (
        "" if review.share is None else f"{_percent(review.share)}, {_percent(review.low)} to {_percent(review.high)}"
    )
    moved = row.advised_days is not None and review.factor != 1.0
    return IntervalLine(
        pk=row.pk,
        name=row.name,
        checks=review.checks,
        undecided=row.undecided,
        outside=review.outside,
        share=share,
        interval="not known" if row.interval_days is None else f"{row.interval_days:.0f} days",
        advice=review.advice,
        advised=f"to about {row.advised_days:.0f} days" if moved else "",
        reason=_PERCENT.sub(r"\1 %", review.reason),
    )


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"
