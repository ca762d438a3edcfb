"""A bench whose true travel is known."""

from dataclasses import dataclass

import numpy as np

from checks.measurement.calibration import Alignment, Geometry
from checks.measurement.stroke import PooledSlope, Reading
from checks.measurement.workings import Case
from tests.measurement.making import (
    SETTING,
    bent,
    dial,
    even_certificate,
    gauge,
    instruments,
    opening,
    rise,
    specification,
    stroke,
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
