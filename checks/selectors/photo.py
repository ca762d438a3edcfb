"""Photographs of checks, within what a person may see."""

from uuid import UUID

from django.http import Http404

from checks.models import Check, CheckPhoto
from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to


def photos_of(check: Check) -> list[CheckPhoto]:
    """The photographs of a check in the order in which they came; one query."""
    return list(check.photos.select_related("added_by"))


def photo_of(user: User, key: UUID) -> CheckPhoto:
    """One photograph of a unit at a depot of theirs; Http404 otherwise. One query."""
    rows = visible_to(user, CheckPhoto.objects.all(), depot="check_made__turbocharger__depot")
    photo = rows.filter(key=key).first()
    if photo is None:
        raise Http404("No such photograph at your depots.")
    return photo


def check_to_illustrate(user: User, **by: int | UUID) -> Check:
    """The check named by `by` to which `user` may add photographs; one query. Raises FleetError (404)."""
    rows = Check.objects.select_related("turbocharger__depot")
    found = visible_to(user, rows, depot="turbocharger__depot", role=Membership.Role.TECHNICIAN).filter(**by).first()
    if found is None:
        raise FleetError("no_such_check", "", "There is no such check at a depot where you are technician.", status=404)
    return found
