"""Depots held against each other, in words; and by what repeatability each depot's checks go."""

from dataclasses import dataclass
from typing import Any

from checks.display import LENGTH_DECIMALS, day_text, length, length_text, lengths_text
from checks.measurement.depots import Comparison, DepotMean
from checks.measurement.specification import Policy
from checks.measurement.travel import ASSUMED_DOF
from checks.selectors.days import day_at
from checks.selectors.published import Repeatability, repeatabilities
from checks.selectors.study_depots import Round
from fleet.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class DepotLine:
    """One depot of a comparison in the person's unit."""

    depot: str
    study: int
    study_name: str
    planned_for: str
    technicians: int
    mean: str
    difference: str
    limits: str
    share: str
    word: str
    odd: bool


def round_words(found: Round, user: User) -> dict[str, Any]:
    """Context of ``checks/parts/depots_compared.html``."""
    unit, told = user.length_unit, found.comparison
    by_depot = {str(study.depot): study for study in found.studies}
    lines = []
    for mean in told.depots if told else ():
        study = by_depot[mean.name]
        lines.append(
            DepotLine(
                depot=mean.name,
                study=study.pk,
                study_name=study.name,
                planned_for=day_text(study.planned_for),
                technicians=mean.technicians,
                mean=length_text(mean.mean_mm, unit),
                difference=_signed(mean.difference_mm, unit),
                limits=f"{_signed(mean.low_mm, unit)} to {_signed(mean.high_mm, unit)}",
                share=f"{100 * abs(mean.difference_mm) / found.window_mm:.0f} %",
                word="stands out" if mean.odd else "differs" if mean.differs else "agrees",
                odd=mean.odd,
            )
        )
    return {
        "model": found.model,
        "sentence": comparison_sentence(found, unit),
        "odd": bool(told and told.odd),
        "lines": lines,
        "parts": len(found.parts),
        "unit": unit,
        "left_out": [f"{study.depot} ({study.name})" for study in found.left_out],
    }


def comparison_sentence(found: Round, unit: str) -> str:
    """What the comparison says, in one or two sentences; lengths in ``unit``."""
    told = found.comparison
    if told is None:
        return found.refusal
    on = f"on the same {told.parts} units"
    if told.odd:
        sentences = [_odd_sentence(mean, told, found.window_mm, on, unit) for mean in told.odd]
        if any(mean.differs and not mean.odd for mean in told.depots):
            sentences.append("The others do not agree with each other either: look at all of them.")
        return " ".join(sentences)
    differing = [mean for mean in told.depots if mean.differs]
    if not differing:
        most = max(max(abs(mean.low_mm), abs(mean.high_mm)) for mean in told.depots)
        names = _listed([mean.name for mean in told.depots])
        ruled_out = f"a difference beyond {length_text(most, unit)} is ruled out at 95 %"
        return f"No depot stands out: {names} agree {on}; {ruled_out}."
    high = max(differing, key=lambda mean: mean.difference_mm)
    others = _listed([mean.name for mean in told.depots if mean.name != high.name])
    return (
        f"{high.name} reads {_size(high, unit)} more than {others} {on} ({_limits(high, unit)}). "
        "Of two depots nobody can say which is off: have a third read the units."
    )


def _odd_sentence(mean: DepotMean, told: Comparison, window_mm: float, on: str, unit: str) -> str:
    others = _listed([one.name for one in told.depots if one.name != mean.name and not one.odd])
    way = "more" if mean.difference_mm > 0 else "less"
    share = 100 * abs(mean.difference_mm) / (mean.mean_mm - mean.difference_mm)
    return (
        f"{mean.name} reads {_size(mean, unit)} ({share:.1f} %) {way} than {others} {on} "
        f"({_limits(mean, unit)}); that is {100 * abs(mean.difference_mm) / window_mm:.0f} % of the window."
    )


def _size(mean: DepotMean, unit: str) -> str:
    return length_text(abs(mean.difference_mm), unit)


def _limits(mean: DepotMean, unit: str) -> str:
    low, high = sorted((abs(mean.low_mm), abs(mean.high_mm)))
    return f"95 % limits {lengths_text(low, high, unit)}"


def _signed(value_mm: float, unit: str) -> str:
    return f"{length(value_mm, unit):+.{LENGTH_DECIMALS[unit]}f}".replace("-", "−")


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def repeatability_lines(user: User) -> list[dict[str, Any]]:
    """By what repeatability the checks of each of the person's depots go now. Four queries."""
    return [_line(row, user) for row in repeatabilities(user)]


def _line(row: Repeatability, user: User) -> dict[str, Any]:
    unit, held = user.length_unit, row.published
    line: dict[str, Any] = {"depot": str(row.depot), "actuator": row.actuator, "study": None}
    if held is None:
        assumed = length_text(Policy().assumed_repeatability_mm, unit)
        return line | {"repeatability": assumed, "dof": f"{ASSUMED_DOF:.0f}", "reproducibility": "not studied"}
    figures = held.figures
    return line | {
        "study": held.study,
        "name": held.name,
        "since": day_text(day_at(row.depot, held.counts_from)),
        "repeatability": length_text(figures.repeatability_mm, unit),
        "dof": f"{figures.repeatability_dof:.0f}",
        "reproducibility": length_text(figures.reproducibility_mm, unit),
        "reproducibility_dof": f"{figures.reproducibility_dof:.0f}",
    }
