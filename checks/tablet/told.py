"""A verdict in the words and units of the person who stands at the truck."""

from dataclasses import dataclass

from checks.components import (
    BudgetTable,
    Reading,
    Window,
    WindowStrip,
    advice_sentence,
    budget_table,
    verdict_sentence,
    window_strip,
)
from checks.display import length_text
from checks.measurement.remarks import leaks_down
from checks.measurement.result import Assessment
from checks.models import SpecificationRevision
from checks.tablet.desk import Desk
from checks.tablet.words import LEAKS_THEN, NEXT, NO_VERDICT, UNSAFE_THEN, VOID_THEN

ELSEWHERE = "Have it adjusted as the manufacturer's service information says."


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the verdict screen shows. ``advised`` is in half turns, positive lengthens the rod."""

    state: str
    sentence: str
    then: str
    strip: WindowStrip
    voids: tuple[tuple[str, str], ...]
    unsafe: bool
    warnings: tuple[str, ...]
    budget: BudgetTable | None
    advised: int | None


def tell(desk: Desk, assessments: dict[str, Assessment]) -> Verdict:
    """The verdict on the last of `assessments` (by moment), with all of them on the strip."""
    moment, last = list(assessments.items())[-1]
    unit, void = desk.length_unit, last.state.value == "void"
    return Verdict(
        state=last.state.value,
        sentence=NO_VERDICT if void else verdict_sentence(last, Window.of(desk.specification), unit=unit),
        then=_then(last, moment, unit, desk.specification.setting),
        strip=strip_of(desk.specification, assessments, unit),
        voids=tuple((desk.told_void(void), void.repeat) for void in last.voids),
        unsafe=any(void.unsafe for void in last.voids),
        warnings=tuple(desk.told(warning) for warning in last.warnings),
        budget=budget_table(last),
        advised=last.advice.half_turns,
    )


def strip_of(specification: SpecificationRevision, assessments: dict[str, Assessment], unit: str) -> WindowStrip:
    """The large window strip, as found hollow and as left filled."""
    readings = [
        Reading(state=one.state.value, travel_mm=one.travel_mm, expanded_mm=one.expanded_uncertainty_mm, moment=moment)
        for moment, one in assessments.items()
    ]
    return window_strip(Window.of(specification), readings, unit=unit, size="large")


def _then(one: Assessment, moment: str, unit: str, setting: float) -> str:
    if one.state.value == "void":
        if any(void.unsafe for void in one.voids):
            return UNSAFE_THEN
        return VOID_THEN
    if moment == "as_found" and one.state.value.startswith("outside"):
        advice = advice_sentence(one.advice, unit=unit) or ELSEWHERE
        return f"Advised: {advice}" if one.advice.half_turns else advice
    if one.state.value == "inside" and leaks_down(one.features.leak_rate, setting):
        return LEAKS_THEN
    return NEXT[one.state.value, moment]


def nominal_text(desk: Desk) -> str:
    """The nominal in the person's unit."""
    return length_text(desk.specification.nominal_mm, desk.length_unit)
