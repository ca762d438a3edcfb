"""A person's calendar of due checks: a secret address that can be changed or ended at any time."""

import secrets

from django.db import transaction

from fleet.models import CalendarFeed, User
from fleet.selectors.secret import digest_of


@transaction.atomic
def renew_feed(*, user: User) -> str:
    """Give a person a new secret address and return the secret, which is kept nowhere; an older one ends."""
    secret = secrets.token_urlsafe(32)
    CalendarFeed.objects.update_or_create(user=user, defaults={"digest": digest_of(secret)})
    return secret


def end_feed(*, user: User) -> None:
    """End a person's calendar; its address leads nowhere from then on."""
    CalendarFeed.objects.filter(user=user).delete()
