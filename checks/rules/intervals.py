"""Are the intervals between checks in use reaching their target? A review per model.

Follows the logic of ILAC-G24 / OIML D 10 (2022), clause 6.6: from the share of units found in tolerance at the end of
their interval to the interval that would reach a target share. The standard sets no numbers; the constants are ours.
"""

from dataclasses import dataclass
from math import log

from scipy.stats import beta

# One review changes an interval by no more than these factors, whatever the formula says.
LONGEST_STEP = 1.5
SHORTEST_STEP = 0.5
# With fewer scheduled checks than this nothing is concluded.
ENOUGH_CHECKS = 10


@dataclass(frozen=True, slots=True)
class IntervalReview:
    """``share`` found outside at scheduled checks with its exact interval ``low`` to ``high``, the ``advice``
    ('lengthen', 'keep', 'shorten' or 'wait'), the ``factor`` on the present interval, and the ``reason``.
    """

    checks: int
    outside: int
    share: float | None
    low: float
    high: float
    advice: str
    factor: float
    reason: str


def exact_interval(found: int, of: int, confidence: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's (1934) interval for a proportion, Biometrika 26, 404-413.

    Raises ValueError unless 0 <= found <= of.
    """
    if not 0 <= found <= of:
        raise ValueError("found must lie between 0 and of")
    tail = (1 - confidence) / 2
    low = float(beta.ppf(tail, found, of - found + 1)) if found else 0.0
    high = float(beta.ppf(1 - tail, found + 1, of - found)) if found < of else 1.0
    return low, high


def interval_factor(share_inside: float, target_inside: float) -> float:
    """Factor on the interval that would bring the share found inside to target, for a constant hazard.

    R = exp(-I / m) at interval I, so I_new / I = ln R_target / ln R.
    """
    return log(target_inside) / log(share_inside)


def review_interval(checks: int, outside: int, target_outside: float) -> IntervalReview:
    """Compare the share found outside at scheduled checks with the target share (0 < target < 1).

    Only as-found verdicts 'inside' or 'outside' of scheduled checks count; undecided and void ones do not.
    """
    if not 0 < target_outside < 1:
        raise ValueError("the target share must lie between 0 and 1")
    low, high = exact_interval(outside, checks)
    if checks < ENOUGH_CHECKS:
        reason = f"{checks} scheduled checks tell too little; at least {ENOUGH_CHECKS} are needed."
        return IntervalReview(checks, outside, outside / checks if checks else None, low, high, "wait", 1.0, reason)
    share = outside / checks
    seen = f"{outside} of {checks} scheduled checks found the unit outside ({low:.1%} to {high:.1%})"
    if low > target_outside:
        factor = max(SHORTEST_STEP, interval_factor(1 - share, 1 - target_outside) if share < 1 else 0.0)
        reason = f"{seen}, more than the target of {target_outside:.1%}: look sooner."
        return IntervalReview(checks, outside, share, low, high, "shorten", factor, reason)
    if high < target_outside:
        # The cautious end of the interval, so that a lucky run does not stretch the interval too far.
        factor = min(LONGEST_STEP, interval_factor(1 - high, 1 - target_outside))
        reason = f"{seen}, less than the target of {target_outside:.1%}: intervals can grow."
        return IntervalReview(checks, outside, share, low, high, "lengthen", factor, reason)
    reason = f"{seen}, which agrees with the target of {target_outside:.1%}."
    return IntervalReview(checks, outside, share, low, high, "keep", 1.0, reason)
