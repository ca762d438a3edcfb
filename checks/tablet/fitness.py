"""Which instruments may be chosen for a check, and whether a set can prove the window, told before it is used."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from checks.display import length_text, measured_text
from checks.measurement.calibration import Alignment
from checks.measurement.result import Acceptance
from checks.models import Instrument
from checks.models.instrument_parts import PARTS, kinds_for
from checks.selectors.fitness import Fitness as Proved
from checks.selectors.fitness import Tools, prove
from checks.selectors.grounds import Grounds, grounds_for
from checks.tablet.desk import Desk
from fleet.selectors.scope import visible_to

Kind = Instrument.Kind
NO_SLOPE = "No slope is known of this model yet, so a steep one is assumed. Readings on the way up will tell it."
Chosen = Mapping[str, Instrument | None]


@dataclass(frozen=True, slots=True)
class Fitness:
    """A set's fitness in the person's units. ``blocking`` must be acknowledged, ``remark`` need not."""

    limits: str
    expanded: str
    ratio: str
    blocking: tuple[str, ...]
    remark: str

    @property
    def fit(self) -> bool:
        return not self.blocking


class Bench:
    """The instruments within reach of one check; three queries, and five more when fitness is asked for."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        rows = visible_to(desk.user, Instrument.objects.filter(withdrawn_on__isnull=True)).select_related("depot")
        self.rows = {row.pk: row for row in rows.prefetch_related("certificates__points")}
        self._grounds: Grounds | None = None

    @property
    def grounds(self) -> Grounds:
        """The policy, the model's pooled slope and the depots' published studies."""
        if self._grounds is None:
            self._grounds = grounds_for(self.desk.specification)
        return self._grounds

    def choices(self, role: str) -> list[Instrument]:
        """Instruments that can play `role`, those of the unit's own depot first."""
        kinds = kinds_for(role, electric=self.desk.electric)
        here = self.desk.turbocharger.depot_id
        fitting = [row for row in self.rows.values() if row.kind in kinds]
        return sorted(fitting, key=lambda row: (row.depot_id != here, row.label))

    def fitness(self, chosen: Chosen, alignment: Alignment) -> Fitness | None:
        """What a reading with this set can prove; None while it is incomplete."""
        dial, stimulus = chosen.get("dial"), chosen.get("stimulus")
        if dial is None or stimulus is None:
            return None
        found = self._prove((dial, stimulus, chosen.get("meter")), alignment)
        if found.acceptance is None:
            return Fitness("", "", "", (self.desk.told(found.refusal),), "")
        return self._told(found.acceptance)

    def best(self) -> dict[str, Instrument | None]:
        """The set of the unit's own depot with the fewest problems, then the smallest uncertainty."""
        here = self.desk.turbocharger.depot_id
        own = {role: [row for row in self.choices(role) if row.depot_id == here][:12] for role in PARTS}
        sets: Iterable[Tools] = (
            (dial, stimulus, meter)
            for dial, stimulus in product(own["dial"], own["stimulus"])
            for meter in self._meters(stimulus, own["meter"])
        )
        ranked = sorted(((self._rank(one), i, one) for i, one in enumerate(sets)), key=lambda entry: entry[:2])
        if not ranked:
            return dict.fromkeys(PARTS)
        dial, stimulus, meter = ranked[0][2]
        return {"dial": dial, "stimulus": stimulus, "meter": meter, "regulator": next(iter(own["regulator"]), None)}

    def _meters(self, stimulus: Instrument, meters: list[Instrument]) -> list[Instrument | None]:
        if stimulus.kind != Kind.TRANSDUCER:
            return [None]
        return [meter for meter in meters if meter.electrical_unit == stimulus.electrical_unit]

    def _rank(self, tools: Tools) -> tuple[int, float]:
        result = self._prove(tools, Alignment()).acceptance
        return (len(result.problems), result.expanded_uncertainty_mm) if result else (99, 0.0)

    def _prove(self, tools: Tools, alignment: Alignment) -> Proved:
        core, on = self.desk.core_specification, self.desk.today
        here = self.desk.turbocharger.depot_id
        return prove(core=core, grounds=self.grounds, tools=tools, alignment=alignment, on=on, depot=here)

    def _told(self, result: Acceptance) -> Fitness:
        unit = self.desk.length_unit
        limits = ""
        if result.low_mm is not None and result.high_mm is not None:
            low = length_text(result.low_mm, unit, with_unit=False)
            limits = f"{low} to {length_text(result.high_mm, unit)}"
        return Fitness(
            limits=limits,
            expanded=measured_text(0.0, result.expanded_uncertainty_mm, unit).split("± ")[-1],
            ratio=f"{result.test_uncertainty_ratio:.1f}",
            blocking=tuple(self.desk.told(problem) for problem in result.problems),
            remark="" if self.grounds.slope else NO_SLOPE,
        )
