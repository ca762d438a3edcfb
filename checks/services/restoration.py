"""What restored wastegates gave back: found from the records, told from truck-months, kept until they change."""

from collections import defaultdict
from datetime import date
from typing import Any

from django.db import transaction

from checks.convert import CODE_VERSION
from checks.models import Restoration
from checks.rules.restoration import Told, tell
from checks.selectors.days import month_of
from checks.selectors.restoration import Months, Visit, truck_months, visits

KIND = "restorations"
NOT_FITTED = "No trips of this truck are fitted."
KEPT = [field.attname for field in Restoration._meta.fields if field.name not in {"id", "truck", "month", "derived_at"}]


def find_restorations() -> int:
    """Derive every restoration anew, in one transaction; rows that did not change are left as they are.

    Returns how many there are. The same records give the same numbers.
    """
    found, days = visits()
    months = truck_months()
    changed = _changed(months, days)
    wanted = {key: _columns(of, months, changed) for key, of in _by_month(found).items()}
    with transaction.atomic():
        known = {(row.truck_id, row.month): row for row in Restoration.objects.select_for_update()}
        Restoration.objects.filter(pk__in=[row.pk for key, row in known.items() if key not in wanted]).delete()
        fresh = [Restoration(truck_id=t, month=m, **of) for (t, m), of in wanted.items() if (t, m) not in known]
        Restoration.objects.bulk_create(fresh, batch_size=200)
        for key, row in known.items():
            of = wanted.get(key)
            if of and any(getattr(row, name) != of[name] for name in KEPT):
                for name, value in of.items():
                    setattr(row, name, value)
                row.save()
    return len(wanted)


def _by_month(found: list[Visit]) -> dict[tuple[int, int], list[Visit]]:
    """Units of one truck brought back in one month are one restoration, the one farthest out first."""
    out: dict[tuple[int, int], list[Visit]] = defaultdict(list)
    for visit in found:
        out[visit.truck, month_of(visit.day)].append(visit)
    return {key: sorted(of, key=lambda v: -v.beyond_mm) for key, of in out.items()}


def _changed(months: Months | None, days: dict[int, list[date]]) -> dict[int, list[int]]:
    """Columns of the months in which each truck's wastegates were turned or swapped, by its row."""
    if months is None:
        return {}
    row = {truck: nth for nth, truck in enumerate(months.trucks.tolist())}
    held = {row[truck]: of for truck, of in days.items() if truck in row}
    return {nth: sorted({month_of(day) - months.first for day in of}) for nth, of in held.items()}


def _columns(of: list[Visit], months: Months | None, changed: dict[int, list[int]]) -> dict[str, Any]:
    visit = of[0]
    told, litres = _told(visit, months, changed)
    event = told.event
    return {
        "day": visit.day,
        "turbocharger_id": visit.turbocharger,
        "means": visit.means,
        "check_made_id": visit.check,
        "fitment_id": visit.fitment,
        "units": len(of),
        "side": visit.side,
        "beyond_mm": visit.beyond_mm,
        "months_before": told.before,
        "months_after": told.after,
        "change": event.change if event else None,
        "standard_error": event.standard_error if event else None,
        "dof": event.dof if event else None,
        "controls": event.controls if event else 0,
        "reason": told.reason,
        "litres_since": litres,
        "code_version": CODE_VERSION,
    }


def _told(visit: Visit, months: Months | None, changed: dict[int, list[int]]) -> tuple[Told, float]:
    """What it gave back, and the litres burnt in the months after it."""
    place = months.trucks.searchsorted(visit.truck) if months else 0
    column = month_of(visit.day) - months.first if months else -1
    known = months is not None and place < len(months.trucks) and months.trucks[place] == visit.truck
    if months is None or not known or not 0 <= column < months.value.shape[1]:
        return Told(None, 0, 0, NOT_FITTED), 0.0
    told = tell(months.value, months.weight, months.outside, changed, truck=int(place), month=column)
    return told, float(months.litres[place, column + 1 :].sum())
