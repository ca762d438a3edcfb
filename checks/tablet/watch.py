"""What to do at this moment of the rise: the core's own void conditions, told before they are final."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checks.convert import to_stroke
from checks.display import stimulus_text
from checks.measurement.errors import MeasurementError
from checks.measurement.evidence import Evidence, Point, capture_band, gather, largest_drop
from checks.measurement.voids import above_maximum, exercise_short, no_zero_return, pressure_fell
from checks.services.faults import Faults
from checks.services.readings import read_stroke
from checks.tablet.desk import Desk
from checks.tablet.strokes import readings_of
from checks.tablet.words import AWAY, BACK, SLOW_FROM, WATCH


@dataclass(frozen=True, slots=True)
class Watch:
    """One sentence for this moment. ``level``: 'calm', 'slow', 'reached', 'again' (vent, repeat), 'stop'."""

    level: str
    sentence: str


def evidence_of(desk: Desk, moment: str, readings: list[Mapping[str, Any]] | None = None) -> Evidence | None:
    """The stroke so far with its values corrected; None where nothing readable has been entered."""
    raw = {"readings": readings if readings is not None else readings_of(desk.answers, moment)}
    rows = read_stroke(raw, moment, desk.kit.scale, Faults())
    try:
        return gather(to_stroke(rows, desk.made_on), desk.core_specification, desk.kit.channels) if rows else None
    except MeasurementError:
        return None


def over_maximum(desk: Desk, moment: str) -> Watch | None:
    """The canister's maximum was passed in any phase: stop."""
    evidence = evidence_of(desk, moment)
    if evidence is None or not any(above_maximum.find(evidence)):
        return None
    seen = stimulus_text(evidence.highest, desk.stimulus_unit)
    away = AWAY[desk.stimulus]
    return Watch("stop", WATCH["stop"].format(seen=seen, maximum=desk.maximum, away=away))


def short_exercise(desk: Desk, moment: str) -> str:
    """Why the cycles made so far are too few or too short; empty when they suffice."""
    evidence = evidence_of(desk, moment)
    return "".join(desk.told_void(void) for void in exercise_short.find(evidence)) if evidence else ""


def zero_return(desk: Desk, moment: str) -> list[str]:
    """Why the instruments do not count as back at zero; empty when they do."""
    evidence = evidence_of(desk, moment)
    return [desk.told_void(void) for void in no_zero_return.find(evidence)] if evidence else []


def watch_rise(desk: Desk, moment: str) -> Watch:
    """What to do now, from the approach under way."""
    stop = over_maximum(desk, moment)
    if stop:
        return stop
    evidence, approach = evidence_of(desk, moment), approach_under_way(desk, moment)
    setting = stimulus_text(desk.specification.setting, desk.stimulus_unit)
    if evidence is None or not approach:
        return Watch("calm", WATCH["raise"].format(setting=setting))
    return _judge(desk, evidence, approach[-1]["phase"] == "setting")


def approach_under_way(desk: Desk, moment: str) -> list[Mapping[str, Any]]:
    """The readings since the last vent."""
    approach: list[Mapping[str, Any]] = []
    for reading in readings_of(desk.answers, moment, "rise", "setting", "vent"):
        approach = [] if reading["phase"] == "vent" else [*approach, reading]
    return approach


def reaches(desk: Desk, moment: str, reading: Mapping[str, Any]) -> str:
    """Where a reading would fall against the capture band: 'below', 'within' or 'above'."""
    evidence = evidence_of(desk, moment, [*readings_of(desk.answers, moment), {**reading, "phase": "setting"}])
    if evidence is None or evidence.setting is None:
        return "within"
    low, high = capture_band(desk.core_specification)
    return "below" if evidence.setting[0] < low else "above" if evidence.setting[0] > high else "within"


def _judge(desk: Desk, evidence: Evidence, closed: bool) -> Watch:
    unit, setting = desk.stimulus_unit, desk.specification.setting
    _, high = capture_band(desk.core_specification)
    points: list[Point] = [*evidence.rise, *([evidence.setting] if evidence.setting else [])]
    back = BACK[desk.stimulus]
    if not points:
        return Watch("again", WATCH["unreadable"].format(back=back.lower()))
    peak = max(stimulus for stimulus, _ in points)
    if peak > high:
        over = stimulus_text(peak - setting, unit)
        return Watch("again", WATCH["passed"].format(over=over, back=back))
    if any(pressure_fell.find(evidence)):
        fell = stimulus_text(largest_drop(evidence.path), unit)
        return Watch("again", WATCH["fell"].format(fell=fell, back=back))
    if closed:
        return Watch("reached", WATCH["reached"])
    return _on_the_way(desk, points[-1][0])


def _on_the_way(desk: Desk, now: float) -> Watch:
    setting = desk.specification.setting
    below = stimulus_text(abs(setting - now), desk.stimulus_unit)
    if setting - now <= desk.specification.capture_tolerance:
        return Watch("slow", WATCH["there"])
    if now >= SLOW_FROM * setting:
        return Watch("slow", WATCH["slow"].format(below=below))
    return Watch("calm", WATCH["on"].format(below=below))
