"""Runs of the review: asked for, frozen once, and the files made from what was frozen."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import IntegrityError, transaction
from django.utils import timezone

from checks.selectors.days import day_at
from fleet.jobs.requests import enqueue
from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from reports.export.frozen import Run, freeze
from reports.models import Review, ReviewFile
from reports.review.month import Month, month_before
from reports.selectors.reviews import REVIEW, sees_all


def ask_review(*, user: User, month: Month, depot: Depot | None, key: UUID | None) -> Review:
    """Ask for a run; the same key is the same request.

    Raises
    ------
    FleetError : the month is not over, or the person may not read that depot, or the fleet.
    """
    _allow(user, depot)
    today = day_at(depot, timezone.now()) if depot else timezone.localdate()
    if month.after > today:
        last = month_before(today)
        sentence = (
            f"{month.words} is not over. Choose a month up to {last.words}: a review looks back on a whole month."
        )
        raise FleetError("month_not_over", "month", sentence)
    kept = _kept_under(key, user, month, depot)
    try:
        return kept or _begin(month=month, depot=depot, user=user, key=key or uuid4())
    except IntegrityError:  # the same request, a moment earlier
        kept = _kept_under(key, user, month, depot)
        if kept is None:
            raise
        return kept


def ask_by_calendar(*, month: Month, depot: Depot | None) -> Review | None:
    """Ask for the run of a month that is over; None where somebody was quicker."""
    try:
        return _begin(month=month, depot=depot, user=None, key=None)
    except IntegrityError:
        return None


def _kept_under(key: UUID | None, user: User, month: Month, depot: Depot | None) -> Review | None:
    """The run that this key asked for before. Raises FleetError where it asked for another one."""
    kept = Review.objects.filter(key=key).first() if key else None
    if kept and (kept.requested_by, kept.month, kept.depot) != (user, month.first, depot):
        raise FleetError(
            "key_used", "key", "This key was used for another review. Make a new key for each.", status=409
        )
    return kept


def _allow(user: User, depot: Depot | None) -> None:
    if depot is not None:
        require(user, Membership.Role.VIEWER, depot)
    elif not sees_all(user):
        sentence = "The review of the whole fleet is for people of every depot. Choose one of your depots."
        raise FleetError("not_allowed", "depot", sentence, status=403)


def _begin(*, month: Month, depot: Depot | None, user: User | None, key: UUID | None) -> Review:
    with transaction.atomic():
        review = Review.objects.create(month=month.first, depot=depot, requested_by=user, key=key)
        review.job = enqueue(kind=REVIEW, arguments={"review": review.pk}, key=f"review {review.pk}", requested_by=user)
        review.save(update_fields=["job"])
    return review


def keep_frozen(*, review: Review, run: Run, at: datetime) -> None:
    """Freeze a run, once and for good."""
    content, digest = freeze(run)
    fresh = Review.objects.filter(pk=review.pk, frozen_at__isnull=True)
    first = run.sentences[0] if run.sentences else ""
    kept = {"frozen": content, "digest": digest, "code_version": run.code_version, "sentence": first}
    if not fresh.update(frozen_at=at, **kept):
        raise FleetError("review_is_frozen", "", "This run is frozen already. Ask for another one.", status=409)


def keep_file(*, review: Review, kind: str, content: bytes) -> None:
    """Keep a file made from a frozen run, in the place of an older one of its kind."""
    ReviewFile.objects.update_or_create(review=review, kind=kind, defaults={"content": content, "size": len(content)})
