"""Strokes with a known truth: does the verdict keep what it promises?

Every instrument is given errors drawn from what its certificate and its scale declare, the rod a true curve, and the
readings are made through them. Source: the definition of a coverage interval (JCGM 101, 3.12) and of a conformance
probability (JCGM 106, 3.3.7); the generator shares nothing with the core but its input types.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from checks.measurement.assess import assess_many
from checks.measurement.calibration import Alignment, Geometry, StimulusInstrument, StimulusKind
from checks.measurement.result import Assessment
from checks.measurement.specification import Policy, State, Stimulus
from checks.measurement.stroke import Phase, PooledSlope, Reading
from checks.measurement.workings import Case
from tests.measurement.making import (
    SETTING,
    bent,
    certificate,
    command_tool,
    dial,
    even_certificate,
    gauge,
    instruments,
    meter,
    opening,
    rise,
    specification,
    stroke,
    transducer,
)

MARKS = (150.0, 165.0, 180.0, 190.0)
REPEATABILITY = 0.01


@dataclass(frozen=True)
class Bench:
    """What a simulated technician works with; U as on the certificates (k = 2)."""

    pressure_expanded: float = 1.0
    dial_expanded: float = 0.01
    angle_max: float = 5.0
    geometry: Geometry = Geometry.FLAT_FACE
    power: float = 1.2
    pooled: bool = False


def made(rng: np.random.Generator, bench: Bench, travel: float) -> Case:
    """One stroke of a rod whose true travel at the setting is ``travel``."""
    curve = bent(travel, bench.power, 130.0)
    pressure_error = rng.normal(0.0, bench.pressure_expanded / 2.0)
    dial_error = rng.normal(0.0, bench.dial_expanded / 2.0)
    cosine = np.cos(np.radians(rng.uniform(-bench.angle_max, bench.angle_max)))
    scale = 1.0 / cosine if bench.geometry is Geometry.FLAT_FACE else cosine

    def seen(reading: Reading) -> Reading:
        true = curve(reading.stimulus - pressure_error) + rng.normal(0.0, REPEATABILITY)
        shown = round(max(0.0, true * scale + dial_error) * 200.0) / 200.0
        return Reading(phase=reading.phase, stimulus=round(2.0 * reading.stimulus) / 2.0, travel_mm=shown)

    marks = () if bench.pooled else MARKS
    tools = instruments(
        gauge(certificate=even_certificate(400.0, bench.pressure_expanded)),
        dial(certificate=even_certificate(10.0, bench.dial_expanded)),
        Alignment(geometry=bench.geometry, angle_max_deg=bench.angle_max),
    )
    slope = (
        PooledSlope(slope=bench.power * travel / (SETTING - 130.0), spread=0.002, count=30) if bench.pooled else None
    )
    readings = [seen(reading) for reading in rise(curve, marks)]
    return Case(stroke(*opening(), *readings), specification(), tools, model_slope=slope)


def outcomes(bench: Bench, travels: np.ndarray, seed: int) -> list[tuple[float, Assessment]]:
    rng = np.random.default_rng(seed)
    return list(zip(travels, assess_many([made(rng, bench, float(x)) for x in travels]), strict=True))


BENCHES = {
    "ordinary": Bench(),
    "rough gauge": Bench(pressure_expanded=5.0),
    "rough dial": Bench(dial_expanded=0.08),
    "dial on a point of the rod, tilted": Bench(geometry=Geometry.ROD_POINT, angle_max=12.0),
    "steep curve": Bench(pressure_expanded=4.0, power=2.2),
    "slope of the model": Bench(pooled=True),
}


@cache
def across_the_window(name: str) -> list[tuple[float, Assessment]]:
    """2,000 strokes with truths all over and beyond the window."""
    return outcomes(BENCHES[name], np.random.default_rng(6).uniform(0.6, 2.4, 2000), 7)


@pytest.mark.parametrize("name", BENCHES)
def test_95_percent_intervals_hold_the_truth_at_least_as_often(name):
    """2,000 strokes each; three binomial standard errors below the nominal 0.95 are granted."""
    held = [low <= x <= high for x, result in across_the_window(name) for low, high in [result.interval_mm]]
    assert 0.935 <= np.mean(held) <= 0.995


@pytest.mark.parametrize("name", BENCHES)
def test_the_estimate_is_not_biased(name):
    """Mean error over 2,000 strokes, against its own standard error and a tenth of the mean uncertainty."""
    found = across_the_window(name)
    errors = np.array([result.travel_mm - x for x, result in found])
    allowed = 0.1 * np.mean([result.standard_uncertainty_mm for _, result in found])
    assert abs(errors.mean()) < allowed + 3.0 * errors.std() / np.sqrt(len(errors))


@pytest.mark.parametrize("name", ["ordinary", "rough gauge", "steep curve"])
def test_of_readings_called_inside_few_are_not(name):
    """Wrong calls of inside stay below 5 % of those called inside; a wrong side is never called."""
    found = across_the_window(name)
    inside = [x for x, result in found if result.state is State.INSIDE]
    assert len(inside) > 500
    assert np.mean([not 1.0 <= x <= 2.0 for x in inside]) < 0.05
    assert not [x for x, result in found if result.state is State.OUTSIDE_LOW and x > 1.5]
    assert not [x for x, result in found if result.state is State.OUTSIDE_HIGH and x < 1.5]


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 0.95)])
def test_a_stated_probability_is_a_frequency(low, high):
    """Of readings with about the same P(inside) that share is inside; truths spread evenly about a limit."""
    bench = Bench(pressure_expanded=4.0)
    travels = np.random.default_rng(8).uniform(0.85, 1.15, 4000)
    some = [
        (x, r.p_inside) for x, r in outcomes(bench, travels, 9) if r.p_inside is not None and low <= r.p_inside < high
    ]
    assert len(some) > 200
    share = np.mean([x >= 1.0 for x, _ in some])
    assert share == pytest.approx(np.mean([p for _, p in some]), abs=0.1)


def test_an_assumed_slope_covers_more_than_it_promises():
    """Without curve or model the stated assumption is steep, so the interval is wide rather than wrong."""
    rng = np.random.default_rng(10)
    cases = []
    for _ in range(1000):
        plain = made(rng, Bench(pooled=True, pressure_expanded=3.0), 1.5)
        cases.append(Case(plain.stroke, plain.specification, plain.instruments, Policy()))
    results = assess_many(cases)
    assert {result.slope_source for result in results} == {"assumed"}
    assert np.mean([low <= 1.5 <= high for r in results for low, high in [r.interval_mm]]) > 0.97


@dataclass(frozen=True)
class Tool:
    """What tells the stimulus. ``spread``: half-width within which its error lies, or U (k = 2) of its certificate."""

    make: Callable[[float], StimulusInstrument]
    spread: float  # kPa or %
    certified: bool
    read_in: Callable[[float], float] = lambda value: value  # kPa or % to what is typed
    setting: float = SETTING


def command(spread: float) -> StimulusInstrument:
    return command_tool(permissible_error=spread)


def bare_gauge(spread: float) -> StimulusInstrument:
    """A gauge whose certificate gives no points: only its permissible error is known."""
    return gauge(resolution=2.0, read_to=0.5, permissible_error=spread, certificate=certificate())


def volts(spread: float) -> StimulusInstrument:
    told = meter(electrical_unit="V", resolution=0.001, error_share=0.0, error_fixed=0.0, certificate=certificate())
    tool = transducer(sensitivity=0.02, offset=0.5, resolution=0.001, meter=told)
    return replace(tool, certificate=even_certificate(400.0, spread))


TOOLS = {
    "command": Tool(command, 0.3, False, setting=60.0),
    "worn command": Tool(command, 1.2, False, setting=60.0),
    "mechanical gauge": Tool(bare_gauge, 3.0, False),
    "transducer in V": Tool(volts, 2.0, True, lambda value: 0.5 + 0.02 * value),
}


def stroke_with(rng: np.random.Generator, tool: Tool, travel: float) -> Case:
    """An honest technician's stroke: instrument error as declared, digits rounded, set-up within the assumption."""
    device = tool.make(tool.spread)
    error = rng.normal(0.0, tool.spread / 2.0) if tool.certified else rng.uniform(-tool.spread, tool.spread)
    curve = bent(travel, 1.3, 0.65 * tool.setting, tool.setting)
    step = device.resolution * device.read_to

    def pair(phase: Phase, wanted: float) -> Reading:
        shown = round(tool.read_in(wanted) / step) * step
        there = wanted + (shown - tool.read_in(wanted)) * wanted / (tool.read_in(wanted) - tool.read_in(0.0))
        true = max(0.0, curve(there - error)) + rng.normal(0.0, REPEATABILITY)
        return Reading(phase=phase, stimulus=shown, travel_mm=round(max(0.0, true) * 200.0) / 200.0)

    zero = tool.read_in(0.0)
    vented = [Reading(phase=phase, stimulus=zero, travel_mm=0.0) for phase in (Phase.ZERO, Phase.ZERO_RETURN)]
    cycles = [Reading(phase=Phase.EXERCISE, stimulus=tool.read_in(tool.setting))] * 3
    rising = [pair(Phase.RISE, share * tool.setting) for share in (0.75, 0.82, 0.9, 0.95)]
    electric = device.kind is StimulusKind.COMMAND
    spec = specification(
        stimulus=Stimulus.ELECTRIC if electric else Stimulus.PNEUMATIC,
        setting=tool.setting,
        stimulus_max=100.0 if electric else 300.0,
        capture_tolerance=0.02 * tool.setting,
    )
    made = stroke(vented[0], *cycles, vented[1], *rising, pair(Phase.SETTING, tool.setting))
    return Case(made, spec, instruments(device))


@pytest.mark.parametrize("name", TOOLS)
def test_every_kind_of_instrument_keeps_its_promise(name):
    """1,500 strokes; never fewer than 95 % less three binomial standard errors; a declared bound may cover more."""
    rng = np.random.default_rng(12)
    travels = rng.uniform(0.8, 2.2, 1500)
    results = assess_many([stroke_with(rng, TOOLS[name], float(x)) for x in travels])
    assert not [result.voids for result in results if result.voids]
    held = [low <= x <= high for x, r in zip(travels, results, strict=True) for low, high in [r.interval_mm]]
    assert 0.933 <= np.mean(held) <= (0.99 if TOOLS[name].certified else 1.0)
