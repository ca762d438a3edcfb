"""A person lets a program act in the own name, for a while and within limits, and ends it again."""

import logging
import secrets
from collections.abc import Sequence
from datetime import timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from fleet.models import Token, User
from fleet.problems import FleetError
from fleet.selectors.secret import digest_of
from fleet.selectors.token import SCOPES, revocable
from fleet.services.saving import Faults, save_checked

PREFIX = "wgr_"
LONGEST_DAYS = 366
# A program asks many times a second; when it was last heard of needs no finer step.
USE_STEP = timedelta(minutes=1)
logger = logging.getLogger(__name__)


@transaction.atomic
def make_token(*, user: User, name: str, scopes: Sequence[str], days: int) -> tuple[Token, str]:
    """Make a token that ends after `days`; returns it with its secret, which is kept nowhere."""
    faults = Faults()
    with faults.gathering():
        _check_scopes(scopes)
    if not 1 <= days <= LONGEST_DAYS:
        sentence = f"A token ends after at least 1 and at most {LONGEST_DAYS} days, not {days}."
        faults.append(FleetError("token_days", "days", sentence))
    secret, now = PREFIX + secrets.token_urlsafe(32), timezone.now()
    token = Token(
        user=user,
        name=" ".join(name.split()),
        digest=digest_of(secret),
        begins=secret[: len(PREFIX) + 4],
        scopes=sorted(set(scopes)),
        made_at=now,
        expires_at=now + timedelta(days=min(max(days, 1), LONGEST_DAYS)),
    )
    save_checked(token, user=user, faults=faults)
    logger.info("token %s (%s...) made by %s: %s", token.pk, token.begins, user.pk, " ".join(token.scopes))
    return token, secret


@transaction.atomic
def revoke_token(*, user: User, token: Token) -> Token:
    """End a token: its person, a manager of the person's depot, or an administrator."""
    token = Token.objects.select_for_update().get(pk=token.pk)
    if not revocable(user).filter(pk=token.pk).exists():
        sentence = "A token is ended by its person or by a manager of the person's depot."
        raise FleetError("not_allowed", "", sentence, status=403)
    if token.revoked_at is None:
        token.revoked_at, token.revoked_by = timezone.now(), user
        save_checked(token, user=user)
        logger.info("token %s (%s...) revoked by %s", token.pk, token.begins, user.pk)
    return token


def note_use(token: Token) -> None:
    """Remember when a token was last used."""
    now = timezone.now()
    unheard = Q(last_used_at__isnull=True) | Q(last_used_at__lt=now - USE_STEP)
    if token.last_used_at is None or token.last_used_at < now - USE_STEP:
        Token.objects.filter(unheard, pk=token.pk).update(last_used_at=now)


def _check_scopes(scopes: Sequence[str]) -> None:
    unknown = [scope for scope in scopes if scope not in SCOPES]
    if unknown:
        raise FleetError("scope_unknown", "scopes", f"There is no scope '{unknown[0][:40]}'.")
    if not scopes:
        raise FleetError("scope_needed", "scopes", "Choose at least one thing that the program may do.")
