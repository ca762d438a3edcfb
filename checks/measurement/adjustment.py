"""How many half turns bring the travel back to nominal, and when to leave the rod alone."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from checks.measurement.conformity import probabilities
from checks.measurement.guard import require, require_between, require_finite
from checks.measurement.result import Advice, Estimate
from checks.measurement.specification import Specification, State

# One turn moves the rod end by the pitch; seating of the lock nut and geometry may take or give a quarter of it.
PRIOR_SPREAD_SHARE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedAdjustment:
    """An adjustment of the same model: half turns made (> 0 lengthens), and travel before and after with its u."""

    half_turns: int
    as_found_mm: float
    as_found_u_mm: float
    as_left_mm: float
    as_left_u_mm: float


def gain_per_turn(specification: Specification, recorded: Sequence[RecordedAdjustment] = ()) -> Estimate | None:
    """Travel gained per full turn that lengthens the rod, mm.

    The prior is normal about the thread pitch with the specification's sign; every recorded adjustment is an
    observation (as-left minus as-found over turns) with the measurement uncertainties of both.

    Returns
    -------
    Estimate in mm per turn, or None where no thread pitch is known

    Source
    ------
    Normal-normal update with known variances, any textbook of Bayesian statistics; pitch: common practice.
    """
    pitch = specification.thread_pitch_mm
    if pitch is None:
        return None
    precision = 1.0 / (PRIOR_SPREAD_SHARE * pitch) ** 2
    weighted = precision * specification.adjustment_sign * pitch
    for adjustment in recorded:
        _require_adjustment(adjustment)
        turns = 0.5 * adjustment.half_turns
        variance = (adjustment.as_found_u_mm**2 + adjustment.as_left_u_mm**2) / turns**2
        precision += 1.0 / variance
        weighted += (adjustment.as_left_mm - adjustment.as_found_mm) / turns / variance
    return Estimate(value=weighted / precision, standard_uncertainty=1.0 / math.sqrt(precision))


def _require_adjustment(adjustment: RecordedAdjustment) -> None:
    require(
        adjustment.half_turns != 0,
        "no_turn",
        "half_turns",
        "An adjustment of zero half turns teaches nothing. Leave it out.",
    )
    require_finite(adjustment.as_found_mm, "as_found_mm")
    require_finite(adjustment.as_left_mm, "as_left_mm")
    for field in ("as_found_u_mm", "as_left_u_mm"):
        require_between(getattr(adjustment, field), 1e-6, 100.0, field, "mm")


def advise(
    *,
    state: State,
    travel_mm: float | None,
    standard_uncertainty_mm: float | None,
    coverage_factor: float | None,
    specification: Specification,
    recorded: Sequence[RecordedAdjustment] = (),
) -> Advice:
    """Advise the whole number of half turns whose predicted travel is nearest to nominal, or refuse.

    Refusal codes: ``void``, ``inside``, ``undecided``, ``no_thread_pitch``, ``unsure_direction``, ``too_fine``,
    ``too_coarse``, ``beyond_range``.
    """
    if state is State.VOID or travel_mm is None or standard_uncertainty_mm is None or coverage_factor is None:
        return _REFUSALS["void"]
    if state is State.INSIDE or state is State.UNDECIDED:
        return _REFUSALS[state.value]
    gain = gain_per_turn(specification, recorded)
    if gain is None:
        return _REFUSALS["no_thread_pitch"]
    if gain.value * specification.adjustment_sign < 2.0 * gain.standard_uncertainty:
        return _REFUSALS["unsure_direction"]
    half_turns = round(2.0 * (specification.nominal_mm - travel_mm) / gain.value)
    if half_turns == 0:
        return _REFUSALS["too_fine"]
    if abs(half_turns) > specification.adjustment_range_half_turns:
        return _beyond(half_turns, specification.adjustment_range_half_turns)
    turns = 0.5 * half_turns
    predicted = travel_mm + turns * gain.value
    if not specification.lower_mm <= predicted <= specification.upper_mm:
        return _REFUSALS["too_coarse"]
    u = math.hypot(standard_uncertainty_mm, turns * gain.standard_uncertainty)
    inside, _, _ = probabilities(predicted, u, specification.lower_mm, specification.upper_mm)
    return Advice(
        half_turns=half_turns,
        predicted_mm=predicted,
        predicted_expanded_mm=coverage_factor * u,
        predicted_p_inside=inside,
    )


def advise_nothing() -> Advice:
    """The advice on a stroke that allows no travel at all."""
    return _REFUSALS["void"]


def _refusal(code: str, sentence: str) -> Advice:
    return Advice(half_turns=None, refusal_code=code, refusal=sentence)


def _beyond(half_turns: int, allowed: int) -> Advice:
    return _refusal(
        "beyond_range",
        f"Nominal would take {abs(half_turns)} half turns; the specification allows {allowed}. "
        "Do not force it: have the actuator and its linkage inspected.",
    )


_REFUSALS = {
    "void": _refusal("void", "The reading is void, so there is nothing to adjust by. Repeat the stroke first."),
    "inside": _refusal("inside", "The travel is inside the window. Leave it alone."),
    "undecided": _refusal(
        "undecided",
        "The reading is too close to a limit for these instruments. Repeat it, with better instruments if there are "
        "any, before touching the rod.",
    ),
    "no_thread_pitch": _refusal(
        "no_thread_pitch",
        "The specification states no thread pitch, so half turns cannot be predicted. Follow the manufacturer's "
        "procedure.",
    ),
    "unsure_direction": _refusal(
        "unsure_direction",
        "Recorded adjustments of this model contradict its thread pitch or sign. Have the specification checked first.",
    ),
    "too_coarse": _refusal(
        "too_coarse",
        "No number of half turns is predicted to bring the travel inside: they are coarse for this window. Follow the "
        "manufacturer's procedure.",
    ),
    "too_fine": _refusal(
        "too_fine", "Half a turn would carry the travel further from nominal than it is now. Repeat the reading first."
    ),
}
