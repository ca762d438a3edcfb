"""A sheet of paper that is being typed in: kept with every pause, and signed like any other check."""

from collections.abc import Mapping
from uuid import UUID

from django.db import transaction

from checks.models import Check, Draft
from checks.services.draft import begin_draft, save_answers
from fleet.models import Turbocharger, User
from fleet.problems import FleetError

# The step of a draft that is typed in from paper, and the source of the check that it becomes.
PAPER = "paper"
LONGEST = 4000


@transaction.atomic
def keep_sheet(*, user: User, turbocharger: Turbocharger, key: UUID, typed: Mapping[str, str]) -> Draft:
    """Keep what has been typed so far, exactly as it was typed.

    Raises
    ------
    FleetError
        ``signed_already`` (409); ``under_way`` (409) where `user` makes a check of this unit in the guided steps;
        and what ``begin_draft`` raises.
    """
    if Check.objects.filter(key=key).exists():
        raise FleetError(
            "signed_already", "", "This sheet is signed already. Open the unit to see its check.", status=409
        )
    draft = begin_draft(user=user, turbocharger=turbocharger, key=key, step=PAPER)
    if draft.step != PAPER:
        raise FleetError(
            "under_way",
            "",
            f"You are making a check of {turbocharger} in the guided steps. Go on with it, or discard it first.",
            status=409,
        )
    kept = {name: text.replace("\x00", "")[:LONGEST] for name, text in typed.items()}
    return save_answers(user=user, key=draft.key, step=PAPER, answers={PAPER: kept})
