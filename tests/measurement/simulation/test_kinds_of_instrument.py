"""Strokes with a known truth on every kind of instrument: does the verdict keep what it promises?"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from checks.measurement.assess import assess_many
from checks.measurement.calibration import StimulusInstrument, StimulusKind
from checks.measurement.specification import Stimulus
from checks.measurement.stroke import Phase, Reading
from checks.measurement.workings import Case
from tests.measurement.bench import REPEATABILITY
from tests.measurement.making import (
    SETTING,
    bent,
    certificate,
    command_tool,
    even_certificate,
    gauge,
    instruments,
    meter,
    specification,
    stroke,
    transducer,
)


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
