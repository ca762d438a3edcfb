"""Whether a set of instruments can prove a specification's window, told before any check is begun."""

from dataclasses import dataclass
from datetime import date

from checks.convert import to_alignment, to_instruments, to_specification
from checks.measurement.acceptance import acceptance
from checks.measurement.calibration import Alignment
from checks.measurement.errors import MeasurementError
from checks.measurement.result import Acceptance
from checks.measurement.specification import Specification
from checks.models import Check, Instrument, SpecificationRevision
from checks.selectors.grounds import Grounds, grounds_for

# A dial indicator, what tells the stimulus, and the meter that reads a transducer.
Tools = tuple[Instrument, Instrument, Instrument | None]


@dataclass(frozen=True, slots=True)
class Fitness:
    """What a set can prove, or the reason why that cannot even be computed."""

    acceptance: Acceptance | None
    refusal: str = ""


def fitness_of(
    *,
    specification: SpecificationRevision,
    dial: Instrument,
    stimulus: Instrument,
    meter: Instrument | None,
    angle_max_deg: float,
    on: date,
) -> Fitness:
    """Fitness of a set on the day `on`, the dial aligned to within ±`angle_max_deg`; prefetch the certificates."""
    alignment = to_alignment(geometry=Check.Geometry.FLAT_FACE, angle_deg=None, angle_max_deg=angle_max_deg)
    return prove(
        core=to_specification(specification),
        grounds=grounds_for(specification),
        tools=(dial, stimulus, meter),
        alignment=alignment,
        on=on,
        depot=dial.depot_id,
    )


def prove(
    *, core: Specification, grounds: Grounds, tools: Tools, alignment: Alignment, on: date, depot: int
) -> Fitness:
    """Fitness of a set, its certificates at hand, in the hands of ``depot`` as its study shows them now; no query."""
    dial, stimulus, meter = tools
    instruments = to_instruments(dial=dial, stimulus=stimulus, meter=meter, alignment=alignment, on=on)
    try:
        return Fitness(
            acceptance(core, instruments, grounds.policy, grounds.slope, grounds.studies.figures(depot), on=on)
        )
    except MeasurementError as error:
        return Fitness(None, error.sentence)
