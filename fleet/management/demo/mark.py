"""Marks the installation as a demonstration, with what was planted and who may sign in."""

import json
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from checks.models import DriftFit
from fleet.management.demo import truth, words
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import CARRIER, DEPOTS, PEOPLE, Person
from fleet.models import Demonstration


def set_mark(*, planted: dict[str, Any], monday: date, loaded_at: datetime) -> None:
    """Write the one row that tells an invented fleet from a real one."""
    # The manager first, who sees everything.
    people = [_told(person) for person in sorted(PEOPLE, key=lambda person: person.role != "manager")]
    Demonstration.objects.create(
        pk=1, carrier=CARRIER, monday=monday, loaded_at=loaded_at, truth=planted, people=people
    )


def mark_older() -> None:
    """Mark a demonstration that was loaded before there was a mark; its first fit was made as the load ended."""
    if Demonstration.objects.exists():
        return
    loaded_at = DriftFit.objects.earliest("made_at").made_at
    monday = Calendar(timezone.localtime(loaded_at).date()).monday
    set_mark(planted=json.loads(truth.PATH.read_text(encoding="utf-8")), monday=monday, loaded_at=loaded_at)


def _told(person: Person) -> dict[str, str]:
    depots = [depot.name for depot in DEPOTS if depot.code in person.depots]
    return {
        "username": person.username,
        "password": person.password,
        "name": f"{person.first_name} {person.last_name}",
        "does": words.DOES[person.username],
        "where": "all depots" if len(depots) in {0, len(DEPOTS)} else ", ".join(depots),
        "units": ", ".join(person.units),
    }
