"""Sources of trips, remembered with how their files are understood; the files themselves go through the imports."""

from typing import Any

from django.db import transaction

from fleet.models import Membership, TripSource, User
from fleet.problems import FleetError
from fleet.selectors.scope import require


@transaction.atomic
def remember_source(*, user: User, name: str, manner: dict[str, Any] | None = None) -> TripSource:
    """The source of this name, new where it is unknown; with `manner`, its files are so understood from now on."""
    require(user, Membership.Role.MANAGER)
    name = " ".join(name.split())
    if not name or len(name) > 60:
        raise FleetError("trip_source_named", "source", "Name where the file comes from, in at most 60 letters.")
    # Two that name a new source at once get the same one.
    found = TripSource.objects.filter(name__iexact=name).first() or TripSource.objects.get_or_create(name=name)[0]
    if manner is not None and manner != found.manner:
        found.manner = manner
        found.save(update_fields=["manner"])
    return found
