"""The numbers that a tablet compares indications with, so that it computes nothing of its own.

Certificates, transducer and set-up of the dial are worked backwards here, once: each number says what the
instrument shows, above what it showed vented. Stimuli are in the unit in which the instrument is kept (kPa, %, or the
electrical unit of a multimeter), lengths in mm.
"""

from datetime import date
from typing import Any

from checks.convert import to_alignment, to_instruments
from checks.measurement.acceptance import acceptance, rejection
from checks.measurement.adjustment import gain_per_turn
from checks.measurement.correction import Channels, channels
from checks.measurement.evidence import DIGIT, EXERCISE_SHARE, capture_band
from checks.measurement.result import Acceptance
from checks.measurement.specification import Specification
from checks.measurement.travel import best_slope
from checks.measurement.voids.out_of_calibration import lapses
from checks.models import Check
from checks.selectors.fitness import Tools
from checks.selectors.grounds import Grounds
from checks.tablet.backwards import stimulus_shown, travel_shown
from checks.tablet.words import SLOW_FROM

# The set-up for which a sheet carries limits; with another one the verdict waits for the server.
ANGLE_MAX_DEG = 5.0
# Standard uncertainties by which the gain of a turn must differ from none, as in the advice itself.
SURE_OF_WAY = 2.0
# Rounding of the last bit is granted, as in the core.
GRANTED = 1.0 + 1e-9


def set_marks(*, core: Specification, grounds: Grounds, tools: Tools, on: date) -> dict[str, Any]:
    """What a set of instruments shows at every stimulus and travel that matters; no query.

    Its limits are those of the depot that keeps the dial, as its published study shows its hands now.

    Raises
    ------
    MeasurementError
        Where the set could not be one.
    """
    plain = to_alignment(geometry=Check.Geometry.FLAT_FACE, angle_deg=None, angle_max_deg=ANGLE_MAX_DEG)
    ready = _channels(tools, plain, on)
    shown = stimulus_shown(ready)
    low, high = capture_band(core)
    return {
        # What lowers its output under pressure counts downwards.
        "direction": 1 if ready.sensitivity > 0 else -1,
        "per_unit": 1.0 / ready.sensitivity,
        "setting": shown(core.setting),
        "low": shown(low),
        "high": shown(high),
        "slow_from": shown(SLOW_FROM * core.setting),
        "maximum": shown(core.stimulus_max * GRANTED),
        "exercise_from": shown(EXERCISE_SHARE * core.setting),
        "fall_most": abs(ready.sensitivity) * ready.stimulus_resolution * DIGIT,
        "zero_most": abs(ready.sensitivity) * core.zero_tolerance_stimulus * GRANTED,
        "travel_zero_most": core.zero_tolerance_mm * GRANTED,
        "lapses": list(lapses(ready.instruments, on)),
        "turns": _turns(core, grounds),
        "limits": {geometry: _limits(core, grounds, tools, geometry, on) for geometry in Check.Geometry.values},
    }


def _limits(core: Specification, grounds: Grounds, tools: Tools, geometry: str, on: date) -> dict[str, Any]:
    """Dial indications that prove the window, and those that prove the contrary, with the set's problems."""
    alignment = to_alignment(geometry=geometry, angle_deg=None, angle_max_deg=ANGLE_MAX_DEG)
    dial, stimulus, meter = tools
    instruments = to_instruments(dial=dial, stimulus=stimulus, meter=meter, alignment=alignment, on=on)
    study = grounds.studies.figures(dial.depot_id)
    accepted: Acceptance = acceptance(core, instruments, grounds.policy, grounds.slope, study, on=on)
    below, above = rejection(core, instruments, grounds.policy, grounds.slope, study)
    slope = best_slope(None, core, grounds.policy, grounds.slope)
    shown = travel_shown(channels(instruments))
    return {
        "inside_from": None if accepted.low_mm is None else shown(accepted.low_mm),
        "inside_to": None if accepted.high_mm is None else shown(accepted.high_mm),
        "outside_below": shown(below),
        "outside_above": shown(above),
        # The most by which a reading anywhere in the capture band may differ from one at the setting.
        "away_mm": abs(slope.value) * core.capture_tolerance,
        "factor": channels(instruments).factor,
        "expanded_mm": accepted.expanded_uncertainty_mm,
        "ratio": accepted.test_uncertainty_ratio,
        "problems": list(accepted.problems),
    }


def _turns(core: Specification, grounds: Grounds) -> list[list[float]]:
    """From which travel to which one how many half turns are advised; empty where none can be, or the way is unsure."""
    gain = gain_per_turn(core, grounds.adjustments)
    if gain is None or gain.value * core.adjustment_sign < SURE_OF_WAY * gain.standard_uncertainty:
        return []
    step, most = 0.5 * gain.value, core.adjustment_range_half_turns
    if 0.5 * abs(step) > min(core.nominal_mm - core.lower_mm, core.upper_mm - core.nominal_mm):
        return []  # half a turn may carry the rod across the window
    ends = [(core.nominal_mm - (n + 0.5) * step, core.nominal_mm - (n - 0.5) * step, n) for n in range(-most, most + 1)]
    return [[min(one), max(one), n] for *one, n in ends if n]


def _channels(tools: Tools, alignment: Any, on: date) -> Channels:
    dial, stimulus, meter = tools
    return channels(to_instruments(dial=dial, stimulus=stimulus, meter=meter, alignment=alignment, on=on))
