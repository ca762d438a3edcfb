"""What a stroke shows beside its verdict and its voids: sentences for whoever stands at the truck."""

from checks.measurement.result import Estimate
from checks.measurement.workings import Workings

# A sound canister loses next to nothing in a minute: common practice, no source.
LEAK_SHARE = 0.02


def warnings_of(workings: Workings, setting: float) -> tuple[str, ...]:
    """Every warning that a stroke to ``setting`` (kPa or %) calls for, the one on the reading first."""
    warnings = []
    measured, left_out = workings.measured, workings.evidence.left_out
    if measured is not None and measured.slope.source == "assumed":
        warnings.append(
            "The slope at the setting is assumed, since the stroke has too few rising readings and the model no "
            "accepted checks. Record three rising readings, one of them within 25 % below the setting."
        )
    if left_out:
        warnings.append(f"{left_out} reading(s) outside the instruments' calibrated range were left out of the curve.")
    if workings.features.sticking is not None:
        warnings.append(
            f"The rod moved in a step of {workings.features.sticking.value:.3f} mm that a free actuator does not make. "
            "Look for sticking."
        )
    if leaks := _of_the_hold(workings.features.leak_rate, setting):
        warnings.append(leaks)
    return tuple(warnings)


def leaks_down(leak_rate: Estimate | None, setting: float) -> bool:
    """Whether a hold lost more than a sound canister does, beyond what its readings can be wrong (two u)."""
    return leak_rate is not None and leak_rate.value - 2.0 * leak_rate.standard_uncertainty > LEAK_SHARE * setting


def _of_the_hold(leak_rate: Estimate | None, setting: float) -> str:
    if leak_rate is None:
        return ""
    if leaks_down(leak_rate, setting):
        return (
            f"It leaks: {leak_rate.value:.2f} kPa a minute were lost with the supply closed, where a sound canister "
            "loses next to nothing. The verdict on the travel does not cover that. Look for the leak at hose, coupling "
            "and canister."
        )
    if leak_rate.value + 2.0 * leak_rate.standard_uncertainty < 0.0:
        return "The pressure rose during the hold, so the supply was not closed: the hold tells no leak. Repeat it."
    return ""
