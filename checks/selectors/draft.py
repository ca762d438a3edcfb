"""Checks begun and not signed yet; seen by who began them and by managers of the depot."""

from uuid import UUID

from django.db.models import Q, QuerySet

from checks.models import Draft
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import depots_of, visible_to


def _drafts(user: User) -> QuerySet[Draft]:
    rows = visible_to(user, Draft.objects.all(), depot="turbocharger__depot", role=Membership.Role.TECHNICIAN)
    managed = depots_of(user, role=Membership.Role.MANAGER)
    return rows.filter(Q(author=user) | Q(turbocharger__depot__in=managed))


def draft_of(*, user: User, key: UUID) -> Draft:
    """The draft named `key`; one query.

    Raises
    ------
    FleetError
        ``no_such_draft`` (404), also where it belongs to somebody else.
    """
    draft = _drafts(user).select_related("turbocharger__model", "turbocharger__depot", "author").filter(key=key).first()
    if draft is None:
        raise FleetError(
            "no_such_draft",
            "",
            "There is no such check under way. It was signed, discarded, or belongs to someone else.",
            status=404,
        )
    return draft


def drafts_of(user: User) -> list[Draft]:
    """What `user` has begun and not signed, the latest touched first; one query."""
    return list(_drafts(user).filter(author=user).select_related("turbocharger__model", "turbocharger__depot"))
