"""Which of a depot's instruments can prove a window, as sets to take along."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

from checks.convert import to_alignment, to_specification
from checks.models import Check, Instrument, SpecificationRevision
from checks.models.instrument_parts import kinds_for
from checks.selectors.fitness import Tools, prove
from checks.selectors.grounds import Grounds
from fleet.models import Depot, TurbochargerModel

Kind = Instrument.Kind
# Beyond these of a kind, by label, a sheet would list more than anybody takes along.
MOST_OF_A_KIND = 8


@dataclass(frozen=True, slots=True)
class FitSet:
    """A dial indicator with what tells the stimulus; ``expanded_mm``: expanded uncertainty of a reading at nominal."""

    labels: tuple[str, ...]
    expanded_mm: float


def depot_instruments(depot: Depot) -> list[Instrument]:
    """The depot's instruments in use, with their certificates. Three queries."""
    rows = Instrument.objects.filter(depot=depot, withdrawn_on__isnull=True)
    return list(rows.order_by("label").prefetch_related("certificates__points"))


def fit_sets(
    *, specification: SpecificationRevision, grounds: Grounds, instruments: Sequence[Instrument], on: date
) -> list[FitSet]:
    """Sets of `instruments` that can prove the window on the day `on`, the surest first; no query."""
    core = to_specification(specification)
    alignment = to_alignment(geometry=Check.Geometry.FLAT_FACE, angle_deg=None, angle_max_deg=0.0)
    found = []
    for one in sets_of(specification, instruments):
        proved = prove(
            core=core, grounds=grounds, tools=one, alignment=alignment, on=on, depot=one[0].depot_id
        ).acceptance
        if proved is not None and not proved.problems:
            found.append(FitSet(tuple(row.label for row in one if row), proved.expanded_uncertainty_mm))
    return sorted(found, key=lambda row: (row.expanded_mm, row.labels))


def sets_of(specification: SpecificationRevision, instruments: Sequence[Instrument]) -> list[Tools]:
    """Every set of `instruments` that a check by `specification` may be made with, fit or not; no query."""
    return list(_sets(specification, instruments))


def _sets(specification: SpecificationRevision, instruments: Sequence[Instrument]) -> Iterator[Tools]:
    electric = specification.turbocharger_model.stimulus == TurbochargerModel.Stimulus.ELECTRIC
    tellers = _of_kind(instruments, *kinds_for("stimulus", electric=electric))
    meters = _of_kind(instruments, Kind.MULTIMETER)
    for dial, stimulus in product(_of_kind(instruments, Kind.DIAL), tellers):
        if stimulus.kind != Kind.TRANSDUCER:
            yield dial, stimulus, None
        else:
            fitting = (meter for meter in meters if meter.electrical_unit == stimulus.electrical_unit)
            yield from ((dial, stimulus, meter) for meter in fitting)


def _of_kind(instruments: Sequence[Instrument], *kinds: str) -> list[Instrument]:
    return [row for row in instruments if row.kind in kinds][:MOST_OF_A_KIND]
