"""The budget table as a part of pages: every line of the uncertainty budget and how the lines add up."""

import math
from dataclasses import dataclass

from checks.display import decimals_for
from checks.measurement.result import Assessment, BudgetLine

METHOD_WORDS = {
    "first_order": "first-order propagation (JCGM 100)",
    "monte_carlo": "Monte Carlo propagation (JCGM 101)",
}
SLOPE_WORDS = {
    "curve": "the slope of this stroke's own curve",
    "model": "the slope pooled over this model's checks",
    "assumed": "an assumed slope, since neither curve nor model tells better",
}


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One line as text; ``share`` is its part of the combined variance, per cent."""

    symbol: str
    source: str
    value: str
    standard_uncertainty: str
    distribution: str
    sensitivity: str
    contribution: str
    dof: str
    share: str

    @property
    def letter(self) -> str:
        return self.symbol.partition("_")[0]

    @property
    def index(self) -> str:
        """What is set lower beside the letter: p of ``c_p``."""
        return self.symbol.partition("_")[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetTable:
    """The budget in mm, the unit in which it is computed."""

    rows: tuple[BudgetRow, ...]
    combined: str
    dof: str
    coverage_factor: str
    expanded: str
    p_inside: str
    p_below: str
    p_above: str
    method: str
    slope: str


def budget_table(assessment: Assessment) -> BudgetTable | None:
    """Context of ``{% budget_table %}``; None where the stroke allowed no travel and so has no budget."""
    if assessment.standard_uncertainty_mm is None or assessment.expanded_uncertainty_mm is None:
        return None
    variance = sum(line.contribution_mm**2 for line in assessment.budget)
    return BudgetTable(
        rows=tuple(_row(line, variance) for line in assessment.budget),
        combined=significant(assessment.standard_uncertainty_mm),
        dof=_dof(assessment.effective_dof),
        coverage_factor=f"{assessment.coverage_factor:.2f}" if assessment.coverage_factor else "",
        expanded=f"{assessment.expanded_uncertainty_mm:.{decimals_for(assessment.expanded_uncertainty_mm)}f}",
        p_inside=_chance(assessment.p_inside),
        p_below=_chance(assessment.p_below),
        p_above=_chance(assessment.p_above),
        method=METHOD_WORDS.get(assessment.method, assessment.method),
        slope=SLOPE_WORDS.get(assessment.slope_source, assessment.slope_source),
    )


def significant(value: float, digits: int = 3) -> str:
    """`value` to some significant digits without an exponent for the sizes of the trade."""
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return "∞"
    size = math.floor(math.log10(abs(value)))
    if size < -6 or size > 6:
        return f"{value:.{digits - 1}e}".replace("-", "−")
    return f"{value:.{max(0, digits - 1 - size)}f}".replace("-", "−")


def _row(line: BudgetLine, variance: float) -> BudgetRow:
    share = 100 * line.contribution_mm**2 / variance if variance > 0 else 0.0
    return BudgetRow(
        symbol=line.symbol,
        source=line.source,
        value=significant(line.value, 4) + (f" {line.unit}" if line.unit not in {"", "1"} else ""),
        standard_uncertainty=significant(line.standard_uncertainty),
        distribution=line.distribution,
        sensitivity=significant(line.sensitivity),
        contribution=significant(line.contribution_mm),
        dof=_dof(line.dof),
        share="under 1 %" if 0 < share < 0.5 else f"{share:.0f} %",
    )


def _dof(dof: float | None) -> str:
    if dof is None or not math.isfinite(dof):
        return "∞"
    return f"{dof:.0f}" if dof < 1000 else "over 1,000"


def _chance(probability: float | None) -> str:
    if probability is None:
        return ""
    if probability > 0.99995:
        return "over 0.9999"
    return "under 0.0001" if probability < 0.00005 else f"{probability:.4f}"
