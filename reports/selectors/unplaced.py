"""Why due checks found no day in the bay."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from checks.display import day_text
from checks.models import BayPlace
from checks.rules.levelling import Shortage, shortages
from checks.selectors.bay import PLAN_DAYS, Waiting, room_on
from fleet.models import Depot
from reports.words.grammar import capital, count_of, number


def why_unplaced(depot: Depot, today: date, waiting: Sequence[Waiting], places: dict[int, BayPlace]) -> list[str]:
    """Why checks found no day, from what must fall where and how much the bay holds."""
    held = {pk: (row.day - today).days for pk, row in places.items() if row.moved_by_id and row.day >= today}
    room = np.array([room_on(depot, today + timedelta(days=day)) for day in range(PLAN_DAYS)])
    left = np.maximum(room - np.bincount(list(held.values()) or [0], minlength=PLAN_DAYS) * bool(held), 0)
    loose = [unit for unit in waiting if unit.turbocharger_id not in held]
    last = [
        PLAN_DAYS - 1 if unit.limit_on is None or unit.lapsed(today) else (unit.limit_on - today).days for unit in loose
    ]
    day = np.array([0 if unit.turbocharger_id in places else -1 for unit in loose])
    found = shortages(np.zeros(len(loose), dtype=np.int64), np.array(last), left, day)
    return [_told(short, today) for short in found if short.wanted > short.room]


def _told(short: Shortage, today: date) -> str:
    first, last = today + timedelta(days=short.first), today + timedelta(days=short.last)
    when = f"by {day_text(last)}" if short.first == 0 else f"between {day_text(first)} and {day_text(last)}"
    wanted = capital(count_of(short.wanted, "check"))
    verb = "has" if short.wanted == 1 else "have"
    return f"{wanted} {verb} to be made {when}, and the bay has room for {number(short.room)}."
