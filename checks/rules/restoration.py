"""Before and after: what each restored wastegate gave back, against trucks without a change.

Each restoration is one event with its own controls, and events are pooled by a random-effects mean. Trucks are restored
because they were bad, so the months just before are left out; and with few restored trucks their own spread tells
nothing, so the spread of the controls' own changes stands for it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student

from checks.rules.epochs import Floats

# The worst months lead to the restoration; counting them would overstate what it gave back.
LEFT_OUT_BEFORE = 2


@dataclass(frozen=True, slots=True)
class Event:
    """Change of one truck around its restoration, less the controls' change: log fuel use, so -0.02 is 2 % less."""

    truck: int
    month: int
    change: float
    standard_error: float
    dof: float
    controls: int

    def limits(self, confidence: float = 0.95) -> tuple[float, float]:
        half = float(student.ppf((1 + confidence) / 2, self.dof)) * self.standard_error
        return self.change - half, self.change + half


@dataclass(frozen=True, slots=True)
class Pooled:
    """Random-effects mean over events: ``tau2`` between them, Hartung-Knapp limits, and what a further event may do."""

    mean: float
    standard_error: float
    low: float
    high: float
    tau2: float
    q: float
    events: int
    prediction: tuple[float, float] | None


def change_around(
    value: Floats,
    weight: Floats,
    restored: dict[int, list[int]],
    *,
    truck: int,
    month: int,
    before: int = 6,
    after: int = 6,
    skip: int = LEFT_OUT_BEFORE,
) -> Event | None:
    """One event's difference in differences.

    Parameters
    ----------
    value, weight : shape (trucks, months), adjusted log fuel use and its weight (km); NaN or 0 where unknown.
    restored : months of restoration per truck; trucks with one within the two windows are no controls.
    truck, month : the event; the month itself is mixed and left out.
    before, after, skip : lengths of the windows in months, and months left out just before.

    Returns None where the truck or fewer than three controls have km in both windows.
    """
    months = value.shape[1]
    earlier = np.arange(max(0, month - skip - before), max(0, month - skip))
    later = np.arange(min(months, month + 1), min(months, month + 1 + after))
    known = np.where(np.isfinite(value), weight, 0.0)
    filled = np.nan_to_num(value)

    def mean(span: np.ndarray) -> Floats:
        total = known[:, span].sum(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray((known[:, span] * filled[:, span]).sum(axis=1) / total)

    changes = mean(later) - mean(earlier)
    span = range(int(earlier[0]) if len(earlier) else month, int(later[-1]) + 1 if len(later) else month)
    others = [g for g in range(len(value)) if g != truck and not any(m in span for m in restored.get(g, []))]
    controls = changes[others][np.isfinite(changes[others])]
    if not np.isfinite(changes[truck]) or len(controls) < 3:
        return None
    spread = float(controls.std(ddof=1)) * np.sqrt(1 + 1 / len(controls))
    return Event(
        truck, month, float(changes[truck] - controls.mean()), float(spread), len(controls) - 1.0, len(controls)
    )


def random_effects(estimates: ArrayLike, variances: ArrayLike, confidence: float = 0.95) -> Pooled:
    """DerSimonian and Laird (1986) mean with Hartung and Knapp (2001) limits.

    Raises ValueError without at least two events with positive variances.
    """
    y, v = np.asarray(estimates, dtype=np.float64), np.asarray(variances, dtype=np.float64)
    if len(y) < 2 or len(y) != len(v) or (v <= 0).any():
        raise ValueError("give at least two estimates, each with a positive variance")
    w = 1 / v
    fixed = (w * y).sum() / w.sum()
    q = float((w * (y - fixed) ** 2).sum())
    k = len(y)
    tau2 = max(0.0, (q - (k - 1)) / (w.sum() - (w**2).sum() / w.sum()))
    share = 1 / (v + tau2)
    mean = (share * y).sum() / share.sum()
    error = float(np.sqrt((share * (y - mean) ** 2).sum() / ((k - 1) * share.sum())))
    half = float(student.ppf((1 + confidence) / 2, k - 1)) * error
    ahead = None
    if k > 2:
        reach = float(student.ppf((1 + confidence) / 2, k - 2)) * np.sqrt(tau2 + 1 / share.sum())
        ahead = (float(mean - reach), float(mean + reach))
    return Pooled(float(mean), error, float(mean - half), float(mean + half), float(tau2), q, k, ahead)


# Months on either side of a restoration, and the fewest that say anything (ours, no source).
BEFORE, AFTER, LEAST = 6, 6, 2
TOO_SHORT = "It stood outside for fewer than {count} months that count before it was restored."
TOO_NEW = "Fewer than {count} months lie between it and the next change of this truck, or today."
NO_CONTROLS = "No trips on one side of it, or fewer than three trucks without a change meanwhile."


@dataclass(frozen=True, slots=True)
class Told:
    """What one restoration gave back, or the reason why that cannot be told; months counted on each side."""

    event: Event | None
    before: int
    after: int
    reason: str = ""


def tell(
    value: Floats, weight: Floats, outside: np.ndarray, changed: dict[int, list[int]], *, truck: int, month: int
) -> Told:
    """One restoration by `change_around`, over the months in which the truck stood outside and those after it.

    Parameters
    ----------
    value, weight : shape (trucks, months), as there.
    outside : shape (trucks, months), bool, whether a wastegate of the truck stood outside in that month.
    changed : months of every adjustment and swap per truck, this one among them. They bound the windows of this truck
        and tell which other trucks are controls.
    """
    others = [other for other in changed.get(truck, []) if other != month]
    first = max([other + 1 for other in others if other < month], default=0)
    last = min([other for other in others if other > month], default=value.shape[1])
    begun = month - LEFT_OUT_BEFORE
    while begun > max(first, month - LEFT_OUT_BEFORE - BEFORE) and outside[truck, begun - 1]:
        begun -= 1
    before, after = month - LEFT_OUT_BEFORE - begun, max(0, min(AFTER, last - month - 1))
    if before < LEAST:
        return Told(None, max(before, 0), after, TOO_SHORT.format(count=LEAST))
    if after < LEAST:
        return Told(None, before, after, TOO_NEW.format(count=LEAST))
    event = change_around(value, weight, changed, truck=truck, month=month, before=before, after=after)
    return Told(event, before, after, "" if event else NO_CONTROLS)
