"""What a set of instruments can prove of a specification, in words."""

from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from checks.display import in_own_units, length_text, lengths_text
from checks.measurement.result import Acceptance
from checks.models import Instrument, SpecificationRevision
from checks.pages.fields import own_unit
from checks.pages.numbers import number_text
from checks.selectors.fitness import Fitness, fitness_of
from fleet.models import TurbochargerModel, User

ANGLE_DEG = 5.0
Kind = Instrument.Kind


@dataclass(frozen=True, slots=True)
class Answer:
    """What a set can prove, in words and in the reader's unit."""

    headline: str
    facts: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()


def answer_of(chosen: dict[str, Any], user: User) -> Answer | None:
    """The answer, or what is still missing; None before anything was chosen."""
    specification, stimulus = chosen["specification"], chosen["stimulus"]
    if not any(chosen.values()):
        return None
    if not (specification and chosen["dial"] and stimulus):
        return Answer("Choose a specification, a dial indicator and what measures or commands the stimulus.")
    if mismatch := _mismatch(specification, stimulus, chosen["meter"]):
        return Answer(mismatch)
    meter = chosen["meter"] if stimulus.kind == Kind.TRANSDUCER else None
    found = fitness_of(
        specification=specification,
        dial=chosen["dial"],
        stimulus=stimulus,
        meter=meter,
        angle_max_deg=ANGLE_DEG,
        on=timezone.localdate(),
    )
    return _told(found, specification, user)


def _mismatch(specification: SpecificationRevision, stimulus: Instrument, meter: Instrument | None) -> str:
    electric = specification.turbocharger_model.stimulus == TurbochargerModel.Stimulus.ELECTRIC
    if electric != (stimulus.kind == Kind.COMMAND):
        wanted = "a command tool" if electric else "a pressure transducer or a gauge"
        return f"{specification.turbocharger_model} needs {wanted}; {stimulus} is a {stimulus.get_kind_display()}."
    if stimulus.kind != Kind.TRANSDUCER:
        return ""
    if meter is None:
        return f"Choose the multimeter on which transducer {stimulus} is read."
    if meter.electrical_unit != stimulus.electrical_unit:
        return (
            f"{stimulus} gives {stimulus.electrical_unit}, but {meter} reads {meter.electrical_unit}. Choose another."
        )
    return ""


def _told(found: Fitness, specification: SpecificationRevision, user: User) -> Answer:
    def own(sentence: str) -> str:
        return in_own_units(sentence, user.pressure_unit, user.length_unit)

    result = found.acceptance
    if result is None:
        return Answer(f"This set cannot be used: {own(found.refusal)}")
    facts = _facts(result, specification, user)
    if result.problems:
        return Answer("This set is not fit for the specification.", facts, tuple(own(one) for one in result.problems))
    return Answer("This set is fit for the specification.", facts)


def _facts(result: Acceptance, specification: SpecificationRevision, user: User) -> tuple[tuple[str, str], ...]:
    unit = own_unit(user, "mm")
    low, high = specification.lower_mm, specification.upper_mm
    facts = [("Window", lengths_text(low, high, unit))]
    if result.low_mm is not None and result.high_mm is not None:
        proof = lengths_text(result.low_mm, result.high_mm, unit)
        facts.append(("Readings that prove 'inside'", proof))
    return (
        *facts,
        ("Expanded uncertainty of the travel", f"± {length_text(result.expanded_uncertainty_mm, unit)}"),
        ("Test uncertainty ratio", f"{number_text(result.test_uncertainty_ratio, digits=3)} : 1"),
        ("Alignment assumed", f"within ± {ANGLE_DEG:g}°, plunger on a flat face"),
    )
