"""Assessments of a check as its page prints them."""

from dataclasses import dataclass, replace
from datetime import datetime

from checks.components import Window, verdict_sentence
from checks.convert import result_from_json
from checks.display import in_own_units, void_text
from checks.measurement.result import Assessment as Result
from checks.models import Assessment
from fleet.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One assessment of one stroke, ready to print."""

    pk: int
    moment: str
    moment_word: str
    state: str
    sentence: str
    basis: str
    made_at: datetime
    revision: str
    result: Result
    window: Window


def verdicts_of(check: int, user: User) -> tuple[list[Verdict], list[Verdict]]:
    """Current verdicts, as found first, and all earlier ones, latest first. One query."""
    rows = Assessment.objects.filter(stroke__check_made=check).select_related("stroke", "specification")
    verdicts = [(row.is_current, _verdict(row, user)) for row in rows]
    current = sorted((v for is_current, v in verdicts if is_current), key=lambda v: v.moment)
    return current, [v for is_current, v in verdicts if not is_current]


def _told(result: Result, user: User) -> Result:
    """The result with its sentences in the viewer's units."""

    def own(sentence: str) -> str:
        return in_own_units(sentence, user.pressure_unit, user.length_unit)

    refusal = result.advice.refusal
    return replace(
        result,
        voids=tuple(
            replace(void, sentence=void_text(void, user.pressure_unit, user.length_unit)) for void in result.voids
        ),
        warnings=tuple(own(warning) for warning in result.warnings),
        advice=replace(result.advice, refusal=own(refusal) if refusal else refusal),
    )


def _verdict(row: Assessment, user: User) -> Verdict:
    held = row.specification
    window = Window.of(held)
    result = _told(result_from_json(row.result), user)
    return Verdict(
        pk=row.pk,
        moment=row.stroke.moment,
        moment_word=row.stroke.get_moment_display(),
        state=row.state,
        sentence=verdict_sentence(result, window, unit=user.length_unit),
        basis=row.basis,
        made_at=row.made_at,
        revision=held.revision,
        result=result,
        window=window,
    )
