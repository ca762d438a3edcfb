"""What was planted in a demonstration, held against what the register says of single units."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import hypot
from typing import Any, TypeAlias

from django.db.models import Q
from django.utils import timezone

from checks.convert import result_from_json
from checks.display import day_text, decimals_for, stimulus
from checks.models import Assessment
from checks.selectors.fuel import current_fit
from fleet.models import Demonstration, Turbocharger, User
from fleet.selectors.scope import visible_to
from reports.selectors.models_drift import ModelsPage, drift_u, models_page
from reports.selectors.units import NEVER
from reports.words.drift import drift_text
from reports.words.grammar import capital

CHECK = "stroke__check_made"
LISTED = 12
NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One planted fact beside what is found of it now; ``word`` says how they stand to each other."""

    what: str
    planted: str
    found: str
    holds: bool
    word: str


@dataclass(frozen=True)
class Planted:
    """The truth of a demonstration as one person may hold it against the register."""

    user: User
    demonstration: Demonstration

    @property
    def truth(self) -> dict[str, Any]:
        """As in ``fixtures/demo/truth.json``."""
        return dict(self.demonstration.truth)

    @property
    def facts(self) -> dict[str, Any]:
        """The part of single facts."""
        return dict(self.truth["planted"])

    def on(self, day: int) -> date:
        """A day of the truth as a date."""
        return self.demonstration.monday + timedelta(days=day)

    @cached_property
    def models(self) -> ModelsPage:
        return models_page(user=self.user)

    @cached_property
    def fuel_fit(self) -> Any:
        return current_fit()

    @cached_property
    def units(self) -> dict[str, int]:
        """Primary keys by serial number of what the person sees of the truth's units; one query."""
        rows = visible_to(self.user, Turbocharger.objects.filter(serial__in=self.truth["units"]))
        return dict(rows.values_list("serial", "pk"))


Answer: TypeAlias = list[Compared]


def interval(what: str, planted: str, found: str, *, holds: bool) -> Compared:
    """A number beside its estimate with limits."""
    word = "the limits hold it" if holds else "the limits miss it"
    return Compared(what=what, planted=planted, found=found, holds=holds, word=word)


def same_set(what: str, planted: Iterable[str], found: Iterable[str]) -> Compared:
    """Names beside the names found."""
    put, seen = sorted(planted), sorted(found)
    more, less = sorted(set(seen) - set(put)), sorted(set(put) - set(seen))
    words = [f"{_listed(more)} besides" if more else "", f"without {_listed(less)}" if less else ""]
    word = " and ".join(word for word in words if word) or "the same"
    return Compared(what=what, planted=_listed(put), found=_listed(seen), holds=not more and not less, word=word)


def told(rows: Answer) -> Answer:
    """Leave out sets that hold nothing on either side: another depot's."""
    return [row for row in rows if (row.planted, row.found) != (NONE, NONE)]


def _listed(names: list[str]) -> str:
    if len(names) > LISTED:
        return f"{', '.join(names[:LISTED])} and {len(names) - LISTED} more"
    return ", ".join(names) or NONE


def waiting(put: Planted) -> Answer:
    """Units left outside their window, and units that nobody looked at; one query more."""
    rows = visible_to(put.user, Turbocharger.objects.filter(scrapped_on__isnull=True))
    asked = Q(standing__state__in=["outside_low", "outside_high", NEVER])
    states = dict(rows.filter(asked).values_list("serial", "standing__state"))
    outside = [*put.facts["left_outside"], *put.truth["fuel"]["silent_outside"]]
    never = put.facts["never_checked"]
    found = {
        "Left outside the window": (outside, [serial for serial, state in states.items() if state != NEVER]),
        "Never checked": (never, [serial for serial, state in states.items() if state == NEVER]),
    }
    sets = [same_set(what, put.units.keys() & set(planted), seen) for what, (planted, seen) in found.items()]
    return told(sets)


def jump(put: Planted) -> Answer:
    """The unit that was knocked: how far it moved between two readings, and when; one query."""
    fact = put.facts["jump"]
    day, unit = put.on(fact["day"]), put.units.get(fact["serial"])
    rows = Assessment.objects.filter(
        **{f"{CHECK}__turbocharger": unit or 0}, is_current=True, travel_mm__isnull=False
    ).exclude(state="void")
    columns = (f"{CHECK}__made_at", "travel_mm", "result__expanded_uncertainty_mm")
    read = [(timezone.localtime(at).date(), mm, u) for at, mm, u in _in_order(rows).values_list(*columns)]
    before, after = [row for row in read if row[0] < day], [row for row in read if row[0] >= day]
    if not before or not after:
        return []
    (earlier, old, old_u), (later, new, new_u) = before[-1], after[0]
    moved, expanded = new - old, hypot(old_u, new_u)
    unit_of_length = put.user.length_unit
    return [
        interval(
            "Moved by",
            drift_text(fact["mm"], 0.0, unit_of_length),
            drift_text(moved, expanded / 2, unit_of_length),
            holds=abs(moved - fact["mm"]) <= expanded,
        ),
        interval("On", day_text(day), f"{day_text(earlier)} to {day_text(later)}", holds=earlier < day <= later),
    ]


def leak(put: Planted) -> Answer:
    """The canister that leaks: what the last stroke with a closed supply says; one query."""
    fact = put.facts["leaking_canister"]
    rows = Assessment.objects.filter(**{f"{CHECK}__turbocharger": put.units.get(fact["serial"], 0)}, is_current=True)
    results = _in_order(rows).values_list("result", flat=True)
    rates = [rate for rate in (result_from_json(result).features.leak_rate for result in results) if rate is not None]
    if not rates:
        return []
    planted, found, expanded = fact["kpa_lost_in_first_minute"], rates[-1].value, 2 * rates[-1].standard_uncertainty
    unit = put.user.pressure_unit
    shown, reach, true = (stimulus(value, unit) for value in (found, expanded, planted))
    places = decimals_for(reach)
    return [
        interval(
            "Lost in the minute after the supply is closed",
            f"{true:.{places}f} {unit}",
            f"{shown:.{places}f} ± {reach:.{places}f} {unit}",
            holds=abs(found - planted) <= expanded,
        )
    ]


def _in_order(rows: Any) -> Any:
    return rows.order_by(f"{CHECK}__made_at", f"{CHECK}__pk", "stroke__moment")


def drift(put: Planted) -> Answer:
    """The mean drift of each model."""
    unit, out = put.user.length_unit, []
    for row in put.models.rows:
        fact = put.truth["models"].get(row.name)
        if fact is None or row.fit is None:
            continue
        value, planted = row.fit.estimates["beta"][2], fact["drift_mm_per_100000_km"]
        holds = abs(value - planted) <= 2 * drift_u(row.fit)
        out.append(
            interval(f"{row.name}, per {put.models.per}", drift_text(planted, 0.0, unit), row.drift, holds=holds)
        )
    return out


def batch(put: Planted) -> Answer:
    """The batch that was set wrong, as far as batches stand out."""
    fact, unit = put.facts["mis_set_batch"], put.user.length_unit
    apart = [batch for row in put.models.rows if row.name == fact["model"] for batch in row.apart]
    out = []
    for row in apart:
        reach = 2 * abs(row.batch.departure_mm / row.batch.z)
        holds = abs(row.batch.departure_mm - fact["offset_mm"]) <= reach
        out.append(interval(capital(row.name), drift_text(fact["offset_mm"], 0.0, unit), row.departure, holds=holds))
    return out
