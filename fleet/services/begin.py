"""An empty installation gets its first person and its first depot."""

from django.db import transaction

from fleet.models import User
from fleet.problems import FleetError
from fleet.selectors.begin import is_empty
from fleet.services.depot import add_depot
from fleet.services.membership import new_person


@transaction.atomic
def begin_register(*, username: str, password: str, name: str, code: str, time_zone: str) -> User:
    """Make the first person, who administers the installation and manages its first depot.

    Raises FleetError: 409 ``begun`` where somebody signs in already; with its field where a value cannot be.
    """
    if not is_empty():
        raise FleetError("begun", "", "Somebody signs in here already. Ask that person to add you.", status=409)
    person = new_person(username=username, password=password, is_superuser=True, is_staff=True)
    add_depot(user=person, name=name, code=code, time_zone=time_zone)
    return person
