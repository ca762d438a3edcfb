"""From a stroke to a verdict, one stroke or ten thousand: one frozen result that keeps every number it rests on."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from checks.measurement.acceptance import acceptance_for
from checks.measurement.adjustment import RecordedAdjustment, advise, advise_nothing
from checks.measurement.bend import Bent, Propagated, propagate_bent
from checks.measurement.budget import coverage_factor
from checks.measurement.calibration import InstrumentSet
from checks.measurement.conformity import judge, probabilities
from checks.measurement.correction import Channels, channels
from checks.measurement.errors import MeasurementError
from checks.measurement.remarks import warnings_of
from checks.measurement.result import Assessment
from checks.measurement.specification import (
    Policy,
    Specification,
    State,
    require_policy,
    require_specification,
)
from checks.measurement.stroke import PooledSlope, Stroke, StudyFigures, require_pooled_slope, require_study
from checks.measurement.workings import Case, Measured, Workings, bent_case, work

T = TypeVar("T")

# Strokes worked at a time: few enough that their working sheets are gone before the next are made.
TOGETHER = 250


def assess(
    stroke: Stroke,
    specification: Specification,
    instruments: InstrumentSet,
    policy: Policy | None = None,
    *,
    model_slope: PooledSlope | None = None,
    study: StudyFigures | None = None,
    adjustments: Sequence[RecordedAdjustment] = (),
) -> Assessment:
    """Judge one stroke, as-found or as-left.

    Parameters
    ----------
    stroke : readings in the instruments' own units, travel in mm
    specification, instruments, policy
    model_slope : pooled slope of the turbocharger model's accepted checks, used where the stroke has no curve
    study : published measurement study of the depot
    adjustments : recorded adjustments of the same model, for the advice

    Returns
    -------
    Assessment; lengths in mm, stimuli in kPa or %

    Raises
    ------
    MeasurementError
        Where a value could not be one: NaN, an unordered window, a transducer without its meter. A broken
        procedure raises nothing: it makes the stroke void.

    Source
    ------
    JCGM 100:2008 (budget), JCGM 101:2008 (bent curves), JCGM 106:2012 (conformity).
    """
    case = Case(stroke, specification, instruments, policy or Policy(), model_slope, study, adjustments)
    return assess_many((case,))[0]


def assess_many(cases: Sequence[Case]) -> list[Assessment]:
    """Judge many strokes; each result is the one that ``assess`` gives."""
    ready = _Ready()
    results: list[Assessment] = []
    for first in range(0, len(cases), TOGETHER):
        results += _assess_some(cases[first : first + TOGETHER], ready)
    return results


def _assess_some(cases: Sequence[Case], ready: "_Ready") -> list[Assessment]:
    workings = [work(case, ready.check(case)) for case in cases]
    bent: dict[float, list[tuple[int, Bent]]] = {}
    for i, (case, found) in enumerate(zip(cases, workings, strict=True)):
        if found.measured is not None and found.measured.bent:
            row = (i, bent_case(case, found.measured, found.curve))
            bent.setdefault(case.policy.coverage_probability, []).append(row)
    propagated: dict[int, Propagated] = {}
    for coverage, rows in bent.items():
        answers = propagate_bent([row for _, row in rows], coverage)
        propagated.update(zip((i for i, _ in rows), answers, strict=True))
    return [_conclude(case, workings[i], propagated.get(i)) for i, case in enumerate(cases)]


class _Ready:
    """Inputs shared by many cases, checked and made ready once (held by identity while the cases live)."""

    def __init__(self) -> None:
        self._channels: dict[int, Channels] = {}
        self._checked: set[int] = set()

    def check(self, case: Case) -> Channels:
        self._once(case.specification, require_specification)
        self._once(case.policy, require_policy)
        if case.model_slope is not None:
            self._once(case.model_slope, require_pooled_slope)
        if case.study is not None:
            self._once(case.study, require_study)
        key = id(case.instruments)
        if key not in self._channels:
            self._channels[key] = channels(case.instruments)
        ready = self._channels[key]
        wanted = case.specification.stimulus.unit
        if ready.unit != wanted:
            sentence = f"The specification is set in {wanted}, the instrument works in {ready.unit}. "
            raise MeasurementError("wrong_stimulus", "stimulus", sentence + "Choose an instrument for this actuator.")
        return ready

    def _once(self, value: T, require: Callable[[T], None]) -> None:
        if id(value) not in self._checked:
            require(value)
            self._checked.add(id(value))


@dataclass(frozen=True, slots=True)
class _Result:
    """Travel with its uncertainty, by whichever method."""

    travel_mm: float
    u: float
    k: float
    expanded: float
    interval: tuple[float, float]
    inside: float
    below: float
    above: float


def _first_order(measured: Measured, specification: Specification) -> _Result:
    travel, combined = measured.travel_mm, measured.combined
    u, expanded = combined.standard_uncertainty, combined.expanded_uncertainty
    shares = probabilities(travel, u, specification.lower_mm, specification.upper_mm)
    return _Result(travel, u, combined.coverage_factor, expanded, (travel - expanded, travel + expanded), *shares)


def _propagated(measured: Measured, found: Propagated, coverage_probability: float) -> _Result:
    """Widen the normal interval by Student's factor, so that few degrees of freedom are not lost in the switch."""
    wider = measured.combined.coverage_factor / coverage_factor(math.inf, coverage_probability)
    travel, (low, high) = found.travel_mm, found.interval_mm
    low, high = travel + (low - travel) * wider, travel + (high - travel) * wider
    expanded, u = 0.5 * (high - low), found.standard_uncertainty_mm
    inside = max(0.0, 1.0 - found.p_below - found.p_above)
    return _Result(travel, u, expanded / u, expanded, (low, high), inside, found.p_below, found.p_above)


def _conclude(case: Case, workings: Workings, found: Propagated | None) -> Assessment:
    spec, policy, measured, voids = case.specification, case.policy, workings.measured, workings.voids
    if measured is None:
        return _without_travel(workings, spec.setting)
    if found is None:
        result = _first_order(measured, spec)
    else:
        result = _propagated(measured, found, policy.coverage_probability)
    state = State.VOID if voids else judge(result.inside, result.below, result.above, policy.inside_level)
    return Assessment(
        state=state,
        travel_mm=result.travel_mm,
        standard_uncertainty_mm=result.u,
        coverage_factor=result.k,
        effective_dof=measured.combined.effective_dof,
        expanded_uncertainty_mm=result.expanded,
        interval_mm=result.interval,
        p_inside=None if voids else result.inside,
        p_below=None if voids else result.below,
        p_above=None if voids else result.above,
        method="first_order" if found is None else "monte_carlo",
        curvature=measured.kappa,
        slope_source=measured.slope.source,
        budget=measured.lines,
        voids=voids,
        features=workings.features,
        acceptance=acceptance_for(result.u, result.expanded, spec, policy),
        advice=advise(
            state=state,
            travel_mm=result.travel_mm,
            standard_uncertainty_mm=result.u,
            coverage_factor=result.k,
            specification=spec,
            recorded=case.adjustments,
        ),
        warnings=warnings_of(workings, spec.setting),
    )


def _without_travel(workings: Workings, setting: float) -> Assessment:
    return Assessment(
        state=State.VOID,
        travel_mm=None,
        standard_uncertainty_mm=None,
        coverage_factor=None,
        effective_dof=None,
        expanded_uncertainty_mm=None,
        interval_mm=None,
        p_inside=None,
        p_below=None,
        p_above=None,
        method="first_order",
        curvature=None,
        slope_source="assumed",
        budget=(),
        voids=workings.voids,
        features=workings.features,
        acceptance=None,
        advice=advise_nothing(),
        warnings=warnings_of(workings, setting),
    )
