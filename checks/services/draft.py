"""A check begun and not signed yet: every answer is kept as soon as it is given."""

from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from checks.models import Draft
from checks.selectors.days import day_at
from checks.selectors.draft import draft_of
from checks.selectors.specification import revision_in_force
from fleet.models import Membership, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import require


@transaction.atomic
def begin_draft(*, user: User, turbocharger: Turbocharger, key: UUID | None = None, step: str = "reason") -> Draft:
    """Begin a check, or go on with the one that `user` has already begun on this turbocharger.

    The specification in force today is pinned: it is the one that the technician works by. A new draft bears `key`
    where the page that begins it made one already, and opens at `step`.

    Raises
    ------
    FleetError
        ``not_allowed`` (403), ``scrapped``, ``no_specification``.
    """
    require(user, Membership.Role.TECHNICIAN, turbocharger.depot)
    # The lock makes a double tap wait for the first, and then find its draft.
    turbocharger = Turbocharger.objects.select_for_update().select_related("model", "depot").get(pk=turbocharger.pk)
    begun = Draft.objects.filter(turbocharger=turbocharger, author=user).first()
    if begun is not None:
        return begun
    if turbocharger.scrapped_on is not None:
        raise FleetError(
            "scrapped",
            "",
            f"{turbocharger} was scrapped on {turbocharger.scrapped_on:%-d %b %Y}. Check the serial number.",
        )
    revision = revision_in_force(turbocharger.model, day_at(turbocharger.depot, timezone.now()))
    if revision is None:
        raise FleetError(
            "no_specification",
            "",
            f"No specification of {turbocharger.model} is in force today, so nothing could be judged. "
            "Ask a manager to enter one under Specifications.",
        )
    return Draft.objects.create(
        key=key or uuid4(),
        turbocharger=turbocharger,
        author=user,
        step=step,
        answers={"specification": revision.pk},
    )


@transaction.atomic
def save_answers(*, user: User, key: UUID, step: str, answers: dict[str, Any]) -> Draft:
    """Keep `answers` of a step, replacing answers of the same names, and note that `step` is next.

    Raises
    ------
    FleetError
        ``no_such_draft`` (404), ``begun_by_another`` (403): who signs must have made the readings.
    """
    author = draft_of(user=user, key=key).author
    if author != user:
        raise FleetError(
            "begun_by_another",
            "",
            f"{author.display_name} began this check and alone can go on with it. You may look at it or discard it.",
            status=403,
        )
    draft = Draft.objects.select_for_update().get(key=key)
    draft.answers = draft.answers | answers
    draft.step = step
    draft.save(update_fields=["answers", "step", "touched_at"])
    return draft


@transaction.atomic
def discard_draft(*, user: User, key: UUID) -> None:
    """Throw a draft away; one that is already gone is no error."""
    if Draft.objects.filter(key=key).exists():
        draft_of(user=user, key=key).delete()


def draft_submission(draft: Draft) -> dict[str, Any]:
    """The submission that `draft` amounts to, in the form that ``record_check`` takes."""
    answers = draft.answers
    named = (
        "specification",
        "reason",
        "complaint",
        "made_at",
        "odometer",
        "engine_hours",
        "instruments",
        "alignment",
        "cautions_read_at",
        "as_found",
        "half_turns",
        "as_left",
    )
    return {
        "key": str(draft.key),
        "turbocharger": draft.turbocharger_id,
        **{name: answers.get(name) for name in named},
        "note": answers.get("note", ""),
        "source": "browser",
    }
