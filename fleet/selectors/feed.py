"""Whose calendar a secret address opens."""

from fleet.models import CalendarFeed, User
from fleet.selectors.secret import digest_of


def feed_of(user: User) -> CalendarFeed | None:
    """The calendar of `user`, if there is one. One query."""
    return CalendarFeed.objects.filter(user=user).first()


def feed_owner(secret: str) -> User | None:
    """The person whose calendar this secret opens: one who may still sign in and belongs to a depot. Two queries.

    Looked up by the digest, so that the time which the search takes says nothing about the secret.
    """
    feed = CalendarFeed.objects.select_related("user").filter(digest=digest_of(secret), user__is_active=True).first()
    if feed is None or not (feed.user.is_superuser or feed.user.memberships.exists()):
        return None
    return feed.user
