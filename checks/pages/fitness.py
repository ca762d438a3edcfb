"""The page that tells, before a check, whether a set of instruments can prove a window."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views import View

from checks.display import in_own_units, length_text, lengths_text
from checks.measurement.result import Acceptance
from checks.models import Certificate, Instrument, SpecificationRevision
from checks.models.instrument_parts import POSITION, PRESSURE
from checks.pages.fields import own_unit
from checks.pages.numbers import number_text
from checks.selectors.fitness import Fitness, fitness_of
from checks.selectors.instrument import instruments_of
from checks.selectors.specification import model_rows
from fleet.models import TurbochargerModel, User
from fleet.web.access import PersonRequest, ViewerView

ANGLE_DEG = 5.0
Kind = Instrument.Kind


@dataclass(frozen=True, slots=True)
class Answer:
    """What a set can prove, in words and in the reader's unit."""

    headline: str
    facts: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()
    fit: bool = False


class FitnessPage(ViewerView, View):
    """Choose a specification and a set; with htmx only the answer is drawn again."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the choice and, once all is chosen, the answer."""
        today = timezone.localdate()
        certificates = Prefetch("certificates", queryset=Certificate.objects.prefetch_related("points"))
        tools = list(instruments_of(request.user).filter(withdrawn_on__isnull=True).prefetch_related(certificates))
        revisions = [row.in_force for row in model_rows(request.user, on=today) if row.in_force]
        chosen = _chosen(request, revisions, tools)
        context = {
            "revisions": revisions,
            "dials": [tool for tool in tools if tool.kind == Kind.DIAL],
            "stimuli": [tool for tool in tools if tool.kind in {*PRESSURE, *POSITION}],
            "meters": [tool for tool in tools if tool.kind == Kind.MULTIMETER],
            "chosen": chosen,
            "answer": _answer(chosen, request.user),
        }
        part = "checks/parts/fitness_answer.html" if request.htmx else "checks/instrument_fitness.html"
        return render(request, part, context)


def _chosen(request: PersonRequest, revisions: list[SpecificationRevision], tools: list[Instrument]) -> dict[str, Any]:
    def pick(name: str, rows: list[Any]) -> Any:
        return next((row for row in rows if str(row.pk) == request.GET.get(name, "")), None)

    return {
        "specification": pick("specification", revisions),
        "dial": pick("dial", tools),
        "stimulus": pick("stimulus", tools),
        "meter": pick("meter", tools),
    }


def _answer(chosen: dict[str, Any], user: User) -> Answer | None:
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
    return Answer("This set is fit for the specification.", facts, fit=True)


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
