"""Readings that a drift fit did not use, and why."""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime

from checks.models import Check, DriftFit

NAMED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """One reason: how many readings of the whole fleet, and the checks among them that the viewer may see."""

    reason: str
    count: int
    checks: list[tuple[int, str, datetime]] = field(default_factory=list)


def left_out(fit: DriftFit, depots: Collection[int]) -> list[LeftOut]:
    """Reasons, the most frequent first. One query."""
    counts = Counter(row["reason"] for row in fit.left_out)
    first: dict[str, list[int]] = {}
    for row in fit.left_out:
        named = first.setdefault(row["reason"], [])
        if row["check"] not in named:
            named.append(row["check"])
    wanted = [pk for pks in first.values() for pk in pks]
    seen = {
        pk: (pk, serial, made_at)
        for pk, serial, made_at in Check.objects.filter(pk__in=wanted[:900], depot__in=depots).values_list(
            "pk", "turbocharger__serial", "made_at"
        )
    }
    return [
        LeftOut(reason=reason, count=count, checks=[seen[pk] for pk in first[reason] if pk in seen][:NAMED])
        for reason, count in counts.most_common()
    ]
