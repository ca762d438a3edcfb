"""Publishing a study for its depot, and taking that back. A publication is never edited, only ended with a reason."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from checks.convert import CODE_VERSION
from checks.models import Publication, Study
from checks.selectors.study import told_of
from checks.services.study import locked_study, refuse_set_aside
from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors import scope
from fleet.services.saving import save_checked

LONGEST_REASON = 400


@transaction.atomic
def publish_study(
    *, study: Study, user: User, reason: str, key: UUID | None = None, at: datetime | None = None
) -> Publication:
    """Let the figures of a study count for its depot's checks of such actuators, from ``at`` (now) on.

    A publication that counted until then ends, replaced by this one. ``key``: the same request sent twice is one.

    Raises
    ------
    FleetError
        ``study_incomplete``, ``study_flat``, ``study_set_aside``, ``study_counts_already``, ``counts_later`` (409),
        ``reason_missing``; 403 for whoever does not manage the depot.
    """
    held = locked_study(study)
    scope.require(user, Membership.Role.MANAGER, held.depot)
    if key and (known := Publication.objects.filter(key=key, study=held).first()):
        return known
    why, moment = _reason(reason, "Say why this study may count, such as what it is to replace."), at or timezone.now()
    refuse_set_aside(held)
    row = _figures(held)
    row.key, row.reason, row.published_by, row.counts_from = key or uuid4(), why, user, moment
    before = _before(row, moment)
    if before:
        _end(before, user, f"Replaced by the study {held.name}: {why}", moment)
    save_checked(row, user=user)
    if before:
        before.replaced_by = row
        before.save(update_fields=["replaced_by"])
    return row


@transaction.atomic
def withdraw_publication(
    *, publication: Publication, user: User, reason: str, at: datetime | None = None
) -> Publication:
    """End a publication with a reason: from ``at`` (now) on the depot's checks go by the assumed repeatability.

    What was judged by it stays. Raises FleetError ``publication_ended`` (409), ``reason_missing``.
    """
    row: Publication = Publication.objects.select_for_update(of=("self",)).get(pk=publication.pk)
    scope.require(user, Membership.Role.MANAGER, row.depot)
    why = _reason(reason, "Say why this study may not count any more.")
    if row.ended_at is not None:
        sentence = f"This publication ended on {timezone.localtime(row.ended_at):%-d %b %Y}: {row.ended_reason}"
        raise FleetError("publication_ended", "", sentence, status=409)
    _end(row, user, why, at or timezone.now())
    return row


def _reason(reason: str, ask: str) -> str:
    told = reason.replace("\x00", "").strip()
    if not told:
        raise FleetError("reason_missing", "reason", ask)
    if len(told) > LONGEST_REASON:
        sentence = f"The reason has {len(told)} characters. Use at most {LONGEST_REASON}."
        raise FleetError("too_long", "reason", sentence)
    return told


def _figures(study: Study) -> Publication:
    told = told_of(study)
    if told.analysis is None:
        raise FleetError(told.code, "", f"This study cannot be published. {told.refusal}", status=409)
    figures = told.analysis.figures()
    return Publication(
        study=study,
        depot=study.depot,
        stimulus=study.specification.turbocharger_model.stimulus,
        repeatability_mm=figures.repeatability_mm,
        repeatability_dof=figures.repeatability_dof,
        reproducibility_mm=figures.reproducibility_mm,
        reproducibility_dof=figures.reproducibility_dof,
        code_version=CODE_VERSION,
    )


def _before(row: Publication, moment: datetime) -> Publication | None:
    """The publication that counts until ``moment``; the depot is held, so that two people cannot publish at once."""
    Depot.objects.select_for_update().get(pk=row.depot_id)
    before = Publication.objects.filter(depot=row.depot, stimulus=row.stimulus, ended_at__isnull=True).first()
    if before is None:
        return None
    if before.study_id == row.study_id:
        raise FleetError("study_counts_already", "", "This study is published and counts already.", status=409)
    if before.counts_from > moment:
        sentence = f"The study {before.study} counts from a later moment. Withdraw it first."
        raise FleetError("counts_later", "", sentence, status=409)
    return before


def _end(row: Publication, user: User, reason: str, moment: datetime) -> None:
    row.ended_at, row.ended_by, row.ended_reason = max(moment, row.counts_from), user, reason
    save_checked(row, user=user)
