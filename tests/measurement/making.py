"""Specifications, instruments and strokes for the tests of the measurement core; all names invented."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from checks.measurement.calibration import (
    Alignment,
    Certificate,
    CertificatePoint,
    DialIndicator,
    InstrumentSet,
    Meter,
    StimulusInstrument,
    StimulusKind,
)
from checks.measurement.specification import Specification, Stimulus
from checks.measurement.stroke import Phase, Reading, Stroke

DAY = date(2026, 6, 1)
SETTING = 200.0  # kPa
START = 140.0


def specification(**changes: object) -> Specification:
    plain = Specification(
        stimulus=Stimulus.PNEUMATIC,
        setting=SETTING,
        lower_mm=1.0,
        nominal_mm=1.5,
        upper_mm=2.0,
        stimulus_max=300.0,
        exercise_cycles=3,
        capture_tolerance=2.0,
        zero_tolerance_stimulus=1.0,
        zero_tolerance_mm=0.03,
        thread_pitch_mm=1.0,
        adjustment_sign=1,
        adjustment_range_half_turns=8,
    )
    return replace(plain, **changes)


def certificate(
    *points: tuple[float, float, float], issued: date = date(2026, 1, 1), due: date = date(2027, 1, 1)
) -> Certificate:
    """Certificate with points (indication, error, expanded uncertainty at k = 2)."""
    made = tuple(CertificatePoint(indication=i, error=e, expanded_uncertainty=u) for i, e, u in points)
    return Certificate(number="C-100", issued=issued, due=due, points=made)


def even_certificate(high: float, expanded: float, *, error_share: float = 0.0, steps: int = 5) -> Certificate:
    """Certificate from 0 to ``high`` in even steps with one uncertainty and an error that grows from zero."""
    marks = [high * i / steps for i in range(steps + 1)]
    return certificate(*((mark, error_share * mark, expanded) for mark in marks))


def dial(**changes: object) -> DialIndicator:
    plain = DialIndicator(
        identity="DI-1",
        division_mm=0.01,
        range_mm=10.0,
        permissible_error_mm=0.015,
        certificate=even_certificate(10.0, 0.006),
    )
    return replace(plain, **changes)


def gauge(**changes: object) -> StimulusInstrument:
    plain = StimulusInstrument(
        identity="PG-1",
        kind=StimulusKind.GAUGE,
        resolution=0.5,
        range_low=0.0,
        range_high=400.0,
        permissible_error=1.0,
        certificate=even_certificate(400.0, 1.0),
    )
    return replace(plain, **changes)


def meter(**changes: object) -> Meter:
    plain = Meter(
        identity="MM-1",
        electrical_unit="mV",
        resolution=0.01,
        error_share=0.0005,
        error_fixed=0.02,
        certificate=even_certificate(200.0, 0.02),
    )
    return replace(plain, **changes)


def transducer(**changes: object) -> StimulusInstrument:
    plain = StimulusInstrument(
        identity="PT-1",
        kind=StimulusKind.TRANSDUCER,
        resolution=0.01,
        range_low=0.0,
        range_high=400.0,
        permissible_error=1.0,
        certificate=even_certificate(400.0, 0.6),
        sensitivity=0.25,
        offset=1.0,
        meter=meter(),
    )
    return replace(plain, **changes)


def command_tool(**changes: object) -> StimulusInstrument:
    plain = StimulusInstrument(
        identity="CT-1",
        kind=StimulusKind.COMMAND,
        resolution=0.1,
        range_low=0.0,
        range_high=100.0,
        permissible_error=0.3,
    )
    return replace(plain, **changes)


def instruments(
    stimulus: StimulusInstrument | None = None, travel: DialIndicator | None = None, alignment: Alignment | None = None
) -> InstrumentSet:
    return InstrumentSet(
        dial=travel or dial(), stimulus=stimulus or gauge(), alignment=alignment or Alignment(angle_deg=0.0)
    )


def straight(slope: float = 0.025, start: float = START) -> Callable[[float], float]:
    """A rise that is a straight line from its start of travel."""
    return lambda p: max(0.0, slope * (p - start))


def bent(
    travel: float = 1.5, power: float = 1.6, start: float = START, setting: float = SETTING
) -> Callable[[float], float]:
    """A rise that is gentle, then steep, and reaches ``travel`` at the setting."""
    return lambda p: travel * (max(0.0, p - start) / (setting - start)) ** power


def opening(
    zero: float = 0.0, zero_mm: float = 0.0, cycles: int = 3, back_mm: float = 0.0, back: float = 0.0
) -> list[Reading]:
    """Zero, exercise cycles and return to zero."""
    return [
        Reading(phase=Phase.ZERO, stimulus=zero, travel_mm=zero_mm),
        *[Reading(phase=Phase.EXERCISE, stimulus=zero + 210.0) for _ in range(cycles)],
        Reading(phase=Phase.ZERO_RETURN, stimulus=zero + back, travel_mm=zero_mm + back_mm),
    ]


def rise(
    curve: Callable[[float], float],
    stimuli: Sequence[float] = (100.0, 130.0, 150.0, 165.0, 180.0, 190.0),
    setting: float = SETTING,
) -> list[Reading]:
    """Rising readings and the reading at the setting."""
    rising = [Reading(phase=Phase.RISE, stimulus=p, travel_mm=curve(p)) for p in stimuli]
    return [*rising, Reading(phase=Phase.SETTING, stimulus=setting, travel_mm=curve(setting))]


def stroke(*readings: Reading, made_on: date = DAY) -> Stroke:
    return Stroke(made_on=made_on, readings=readings)


def good_stroke(curve: Callable[[float], float] | None = None, **opened: float) -> Stroke:
    return stroke(*opening(**opened), *rise(curve or straight()))


def reading_only(travel: float, stimulus: float = SETTING) -> Stroke:
    """A stroke without rising readings: nothing but the reading at the setting."""
    return stroke(*opening(), Reading(phase=Phase.SETTING, stimulus=stimulus, travel_mm=travel))


def random_stroke(
    rng: np.random.Generator, starts: tuple[float, float] = (130.0, 175.0), powers: tuple[float, float] = (1.0, 2.2)
) -> Stroke:
    """A physically sensible stroke: preload, a rise that steepens, dial read to half a division, gauge noise."""
    start, power = rng.uniform(*starts), rng.uniform(*powers)
    curve = bent(rng.normal(1.5, 0.3), power, start)
    marks = (100.0, 130.0, 150.0, 165.0, 180.0, 190.0, SETTING)
    stimuli = [round(2.0 * (mark + rng.uniform(-1.5, 1.5) * (mark < SETTING))) / 2.0 for mark in marks]
    travels = [round(200.0 * max(0.0, curve(p) + rng.normal(0.0, 0.004))) / 200.0 for p in stimuli]
    points = [
        Reading(phase=Phase.SETTING if p == stimuli[-1] else Phase.RISE, stimulus=p, travel_mm=x)
        for p, x in zip(stimuli, travels, strict=True)
    ]
    return stroke(*opening(back_mm=0.005 * rng.integers(-2, 3), back=0.5 * rng.integers(-1, 2)), *points)


def random_instruments(rng: np.random.Generator, stimulus_u: float = 0.5) -> InstrumentSet:
    """A gauge of about ``stimulus_u`` kPa standard uncertainty, a dial, and an alignment known within degrees."""
    expanded = 2.0 * stimulus_u * math.exp(rng.normal(0.0, 0.1))
    pressure = gauge(certificate=even_certificate(400.0, expanded, error_share=rng.normal(0.0, 0.002)))
    travel = dial(certificate=even_certificate(10.0, 0.006, error_share=rng.normal(0.0, 0.001)))
    return instruments(pressure, travel, Alignment(angle_max_deg=rng.uniform(0.0, 6.0)))
