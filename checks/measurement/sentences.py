"""The verdict in one plain sentence."""

from checks.measurement.result import Assessment
from checks.measurement.specification import Specification, State

_VERDICTS = {
    State.INSIDE: "inside the window",
    State.OUTSIDE_LOW: "outside the window, below its lower limit",
    State.OUTSIDE_HIGH: "outside the window, above its upper limit",
    State.UNDECIDED: "too close to a limit for these instruments to decide",
}


def verdict_sentence(assessment: Assessment, specification: Specification) -> str:
    """Say what the travel is, how sure, and what follows, in one sentence (lengths in mm)."""
    if assessment.state is State.VOID:
        reason = assessment.voids[0].sentence.rstrip(".") if assessment.voids else "the stroke allows no travel"
        more = len(assessment.voids) - 1
        others = f", and {more} more reason{'s' if more > 1 else ''}" if more > 0 else ""
        return f"Void, so there is no verdict: {reason}{others}."
    window = f"{specification.lower_mm:.3f} to {specification.upper_mm:.3f} mm"
    chance = _chance(assessment.p_inside or 0.0)
    return (
        f"Travel {assessment.travel_mm:.3f} mm ± {assessment.expanded_uncertainty_mm:.3f} mm against {window}: "
        f"{_VERDICTS[assessment.state]} ({chance} chance of being inside)."
    )


def _chance(p: float) -> str:
    if p > 0.999:
        return "more than 99.9 %"
    if p < 0.001:
        return "less than 0.1 %"
    return f"{100.0 * p:.1f} %"
