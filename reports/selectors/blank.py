"""The blank sheet of a check, for whoever works on paper: all that is known before the work begins."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils import timezone

from checks.components.code_mark import CodeMark, code_mark
from checks.components.state_word import STATE_WORDS
from checks.convert import to_specification
from checks.display import in_own_units, measured_text, stimulus_text
from checks.measurement.evidence import capture_band
from checks.models import Assessment, Instrument, SpecificationRevision
from checks.selectors.days import day_at
from checks.selectors.fit_sets import depot_instruments, sets_of
from checks.selectors.grounds import Grounds, grounds_for
from checks.selectors.label import label_address
from checks.selectors.specification import revisions_in_force, stimulus_unit
from checks.tablet.cautions import all_cautions
from fleet.models import Depot, Turbocharger, TurbochargerModel, User
from fleet.selectors.scope import visible_to
from reports.selectors.blank_sets import SetLine, fit_lines
from reports.selectors.places import Place, name_of, places_of
from reports.selectors.specification import SpecificationFacts, facts_of

MOST = 40
# Where the rising readings are taken, as shares of the setting; common practice, no source.
RISE_SHARES = (0.6, 0.7, 0.8, 0.85, 0.9, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankSheet:
    """One sheet; texts in the viewer's units, empty where unknown."""

    unit: Turbocharger
    place: Place | None
    on: date
    mark: CodeMark
    electric: bool
    facts: SpecificationFacts
    band: str
    cautions: tuple[str, ...]
    sets: tuple[SetLine, ...]
    cycles: range
    rise: tuple[str, ...]
    last: str
    safety_flag: str

    @property
    def name(self) -> str:
        """What people call the unit."""
        return name_of(self.place, self.unit.serial)


def blank_sheets(*, user: User, units: Sequence[int]) -> list[BlankSheet]:
    """Sheets in the order asked for; four queries, three more per depot and five per specification. At most ``MOST``.

    Turbochargers that are scrapped, unknown, or at none of the person's depots are left out.
    """
    rows = Turbocharger.objects.filter(pk__in=list(units)[:MOST], scrapped_on__isnull=True)
    found = {row.pk: row for row in visible_to(user, rows.select_related("model", "depot"))}
    wanted = [found[pk] for pk in dict.fromkeys(units) if pk in found]
    places, last = places_of(found), _last_readings(found, user)
    press = _Press(user, wanted)
    return [press.sheet(row, places.get(row.pk), last.get(row.pk, "")) for row in wanted]


class _Press:
    """What several sheets share: specifications, what the model's checks teach, and the depots' instruments."""

    def __init__(self, user: User, units: Sequence[Turbocharger]) -> None:
        self.user = user
        self.on = {unit.depot_id: day_at(unit.depot, timezone.now()) for unit in units}
        models = TurbochargerModel.objects.filter(pk__in={unit.model_id for unit in units})
        self.held = {on: revisions_in_force(models, on) for on in set(self.on.values())}
        self._grounds: dict[int, Grounds] = {}
        self._instruments: dict[int, list[Instrument]] = {}
        self._lines: dict[tuple[int, int], tuple[SetLine, ...]] = {}

    def sheet(self, unit: Turbocharger, place: Place | None, last: str) -> BlankSheet:
        """The sheet of one unit."""
        on = self.on[unit.depot_id]
        held = self.held[on].get(unit.model_id)
        user = self.user
        return BlankSheet(
            unit=unit,
            place=place,
            on=on,
            mark=code_mark(label_address(unit)),
            electric=unit.model.stimulus == TurbochargerModel.Stimulus.ELECTRIC,
            sets=self._sets(held, unit.depot, on) if held else (),
            last=last,
            safety_flag=in_own_units(unit.safety_flag, user.pressure_unit, user.length_unit),
            facts=facts_of(held, user),
            **_rise(held, user),
        )

    def _sets(self, held: SpecificationRevision, depot: Depot, on: date) -> tuple[SetLine, ...]:
        key = (held.pk, depot.pk)
        if key not in self._lines:
            if held.pk not in self._grounds:
                self._grounds[held.pk] = grounds_for(held)
            if depot.pk not in self._instruments:
                self._instruments[depot.pk] = depot_instruments(depot)
            tools = sets_of(held, self._instruments[depot.pk])
            self._lines[key] = fit_lines(held, self._grounds[held.pk], tools, on=on, user=self.user)
        return self._lines[key]


def _rise(held: SpecificationRevision | None, user: User) -> dict[str, Any]:
    """How far to rise, by what steps, and what to beware of; empty where no specification is in force."""
    if held is None:
        return {"band": "", "cautions": (), "cycles": range(0), "rise": ()}
    model, unit = held.turbocharger_model, stimulus_unit(held.turbocharger_model, user)
    low, high = capture_band(to_specification(held))
    return {
        "band": f"{stimulus_text(low, unit).split(' ')[0]} to {stimulus_text(high, unit)}",
        "cautions": all_cautions(model.stimulus, stimulus_text(held.stimulus_max, unit)),
        "cycles": range(1, held.exercise_cycles + 1),
        "rise": tuple(stimulus_text(share * held.setting, unit) for share in RISE_SHARES),
    }


def _last_readings(units: Any, user: User) -> dict[int, str]:
    """What was last read of each unit, as left where the rod was turned. One query."""
    rows = (
        Assessment.objects.filter(is_current=True, stroke__check_made__turbocharger__in=list(units))
        .order_by("stroke__check_made__made_at", "stroke__check_made", "stroke__moment")
        .values_list(
            "stroke__check_made__turbocharger", "stroke__check_made__made_at", "state", "travel_mm",
            "expanded_uncertainty_mm",
        )
    )  # fmt: skip
    told = {}
    for unit, made_at, state, travel, expanded in rows:
        reading = "" if travel is None else f"{measured_text(travel, expanded, user.length_unit)}, "
        told[unit] = f"{reading}{STATE_WORDS[state]}, {made_at:%-d %b %Y}"
    return told
