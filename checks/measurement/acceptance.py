"""Fitness of an instrument set for a specification, told before anything is measured."""

import math
from collections.abc import Callable
from datetime import date

from scipy.special import ndtri

from checks.measurement.budget import Combined, combine_lines
from checks.measurement.calibration import InstrumentSet, StimulusKind
from checks.measurement.conformity import acceptance_limits, uncertainty_ratio
from checks.measurement.correction import Channels, channels
from checks.measurement.errors import MeasurementError
from checks.measurement.result import Acceptance
from checks.measurement.specification import Policy, Specification, require_policy, require_specification
from checks.measurement.stroke import PooledSlope, StudyFigures
from checks.measurement.travel import Setting, Slope, best_slope, budget_lines, repeatability
from checks.measurement.voids.out_of_calibration import lapses

LIMIT_STEPS_MOST = 20
LIMIT_SETTLED_MM = 1e-9


def acceptance(
    specification: Specification,
    instruments: InstrumentSet,
    policy: Policy | None = None,
    slope: PooledSlope | None = None,
    study: StudyFigures | None = None,
    *,
    on: date,
) -> Acceptance:
    """Tell which readings would prove the window with these instruments, and what stands in the way.

    The budget is that of a reading exactly at the setting, with both zeros returned: at nominal for the expanded
    uncertainty, at each limit for that limit, so that a reading there gets the policy's level.

    Parameters
    ----------
    slope : pooled slope of the turbocharger model, else the policy's assumption is used
    study : measurement study of the depot
    on : day on which the check is to be made

    Returns
    -------
    Acceptance; lengths in mm. ``problems`` are sentences, empty where the set is fit.

    Raises
    ------
    MeasurementError
        Where an input could not be one.
    """
    policy = policy or Policy()
    require_specification(specification)
    require_policy(policy)
    ready = channels(instruments)
    problems = [*lapses(instruments, on), *_range_problems(specification, ready)]
    best = best_slope(None, specification, policy, slope)
    budget_at = _budget_by_travel(specification, ready, policy, best, study)
    middle = budget_at(specification.nominal_mm)
    low, high = (_limit_where_met(budget_at, end, specification, policy) for end in (0, 1))
    if low is None or high is None or low > high:
        low = high = None
        problems.append(_unprovable(middle.expanded_uncertainty, specification, best.source))
    return Acceptance(
        low_mm=low,
        high_mm=high,
        expanded_uncertainty_mm=middle.expanded_uncertainty,
        test_uncertainty_ratio=uncertainty_ratio(
            middle.expanded_uncertainty, specification.lower_mm, specification.upper_mm
        ),
        problems=tuple(problems),
    )


def rejection(
    specification: Specification,
    instruments: InstrumentSet,
    policy: Policy | None = None,
    slope: PooledSlope | None = None,
    study: StudyFigures | None = None,
) -> tuple[float, float]:
    """Readings below and above which 'outside' is proven at the policy's level, mm.

    The budget is that of ``acceptance``, made at the limit itself; between these and the acceptance limits a
    reading is undecided.

    Raises
    ------
    MeasurementError
        Where an input could not be one.

    Source
    ------
    JCGM 106:2012, 8.2 and 8.3: one-sided, since a reading proven below the lower limit is far from the upper one.
    """
    policy = policy or Policy()
    require_specification(specification)
    require_policy(policy)
    ready = channels(instruments)
    budget_at = _budget_by_travel(specification, ready, policy, best_slope(None, specification, policy, slope), study)
    reach = float(ndtri(policy.inside_level))

    def settled(limit: float, side: int) -> float:
        found, before = limit, math.inf
        for _ in range(LIMIT_STEPS_MOST):
            if abs(found - before) <= LIMIT_SETTLED_MM:
                break
            found, before = limit + side * reach * budget_at(found).standard_uncertainty, found
        return found

    return settled(specification.lower_mm, -1), settled(specification.upper_mm, 1)


def _budget_by_travel(
    specification: Specification, ready: Channels, policy: Policy, best: Slope, study: StudyFigures | None
) -> Callable[[float], Combined]:
    """The budget of one reading at the setting as a function of its travel, mm."""
    repeat = repeatability((), policy, study)

    def budget_at(travel_mm: float) -> Combined:
        lines = budget_lines(ready, specification, _read_at(specification, ready, travel_mm), best, repeat, study)
        return combine_lines(lines, policy.coverage_probability)

    return budget_at


def _limit_where_met(
    budget_at: Callable[[float], Combined], end: int, specification: Specification, policy: Policy
) -> float | None:
    """Lower (0) or upper (1) acceptance limit for the uncertainty of a reading made there; None where there is none."""
    lower, upper = specification.lower_mm, specification.upper_mm
    limit, before = specification.nominal_mm, math.inf
    for _ in range(LIMIT_STEPS_MOST):
        if abs(limit - before) <= LIMIT_SETTLED_MM:
            break
        limits = acceptance_limits(budget_at(limit).standard_uncertainty, lower, upper, policy.inside_level)
        if limits is None:
            return None
        limit, before = limits[end], limit
    return limit


def acceptance_for(u: float, expanded: float, specification: Specification, policy: Policy) -> Acceptance:
    """Acceptance limits and test uncertainty ratio for a known standard and expanded uncertainty, mm."""
    lower, upper = specification.lower_mm, specification.upper_mm
    limits = acceptance_limits(u, lower, upper, policy.inside_level)
    return Acceptance(
        low_mm=limits[0] if limits else None,
        high_mm=limits[1] if limits else None,
        expanded_uncertainty_mm=expanded,
        test_uncertainty_ratio=uncertainty_ratio(expanded, lower, upper),
    )


def _unprovable(expanded: float, specification: Specification, slope_source: str) -> str:
    width = specification.upper_mm - specification.lower_mm
    sentence = (
        f"Cannot prove this window: the expanded uncertainty is {expanded:.3f} mm, the window {width:.3f} mm wide. "
        "Use better instruments."
    )
    if slope_source == "assumed":
        sentence += " The slope is assumed, since none is known for this model; rising readings may settle it."
    return sentence


def _read_at(specification: Specification, ready: Channels, travel_mm: float) -> Setting:
    stimulus = ready.instruments.stimulus
    reading = specification.setting
    if stimulus.kind is StimulusKind.TRANSDUCER and stimulus.sensitivity is not None:
        reading = specification.setting * stimulus.sensitivity + stimulus.offset
    return Setting(
        stimulus=specification.setting,
        travel_mm=travel_mm,
        dial_indication=travel_mm / ready.factor,
        dial_zero=0.0,
        stimulus_reading=reading,
        stimulus_zero=0.0,
        stimulus_shown=specification.setting,
        return_mm=0.0,
        return_stimulus=0.0,
    )


def _range_problems(specification: Specification, ready: Channels) -> list[str]:
    dial, stimulus, unit = ready.instruments.dial, ready.instruments.stimulus, ready.unit
    problems = []
    if (unit == "%") != (specification.stimulus.unit == "%"):
        problems.append(f"The specification is set in {specification.stimulus.unit}, the instrument works in {unit}.")
    if not stimulus.range_low <= specification.setting <= stimulus.range_high:
        problems.append(
            f"The setting of {specification.setting:.1f} {unit} lies outside the range of {stimulus.identity}, "
            f"{stimulus.range_low:g} to {stimulus.range_high:g} {unit}."
        )
    if dial.range_mm < specification.upper_mm / ready.factor:
        problems.append(
            f"Dial indicator {dial.identity} reaches {dial.range_mm:g} mm, the window {specification.upper_mm:.3f} mm."
        )
    asked = [(ready.stimulus, specification.setting), (ready.dial, specification.upper_mm / ready.factor)]
    if ready.meter is not None:
        shown = specification.setting * ready.sensitivity + ready.offset
        asked += [(ready.meter, ready.offset), (ready.meter, shown)]
    for part, value in asked:
        try:
            part.error(value)
        except MeasurementError as error:
            problems.append(error.sentence)
    return problems
