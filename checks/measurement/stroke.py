"""What was done and read, in order."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from checks.measurement.errors import MeasurementError
from checks.measurement.guard import require, require_between


class Phase(StrEnum):
    """Where in the procedure a reading belongs, in the procedure's order."""

    ZERO = "zero"  # vented, before exercise: fixes both zeros
    EXERCISE = "exercise"  # highest stimulus of one cycle
    ZERO_RETURN = "zero_return"  # vented, after exercise
    VENT = "vent"  # vented between approaches: the rise starts again
    RISE = "rise"
    SETTING = "setting"  # the reading at the setting stimulus: closes an approach
    FALL = "fall"
    HOLD = "hold"  # leak-down: supply closed, at ``seconds``


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One pair of indications, as read: ``stimulus`` in the instrument's own unit, travel in mm.

    ``travel_mm`` may be None for exercise and hold readings, ``seconds`` is for hold readings only.
    """

    phase: Phase
    stimulus: float
    travel_mm: float | None = None
    seconds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One stroke, as-found or as-left: readings in the order in which they were made."""

    made_on: date
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledSlope:
    """Slope dx/dstimulus (mm per kPa or per %) of the model's accepted checks at the setting, with its spread."""

    slope: float
    spread: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyFigures:
    """Published measurement study of the depot: standard deviations in mm with their degrees of freedom.

    ``name`` tells it in the budget. One reading of the study is one whole measurement, its dial set up anew.
    """

    repeatability_mm: float
    repeatability_dof: float
    reproducibility_mm: float
    reproducibility_dof: float
    name: str = "of the depot"


@dataclass(frozen=True, slots=True)
class Approach:
    """One rise since a vent, up to its last reading at the setting; ``reading`` is None where none was made."""

    rise: tuple[Reading, ...]
    reading: Reading | None


@dataclass(frozen=True, slots=True)
class Parts:
    """A stroke taken apart. The last approach is the one that counts."""

    zero: Reading | None
    exercise: tuple[Reading, ...]
    zero_return: Reading | None
    vents: tuple[Reading, ...]
    approaches: tuple[Approach, ...]
    fall: tuple[Reading, ...]
    hold: tuple[Reading, ...]


def take_apart(stroke: Stroke) -> Parts:
    """Sort the readings of a stroke into the steps of the procedure.

    Every vented reading starts a new approach. Within an approach the last reading at the setting closes it;
    what rises after that (on the way to a fall) belongs to none. A vent after which nothing rises closes the
    work and starts nothing. Exercise counts before the final reading, a return to zero after the last exercise.

    Raises
    ------
    MeasurementError
        ``not_a_number``, ``out_of_bounds``, ``missing_travel``, ``missing_seconds``.
    """
    rising: list[list[Reading]] = [[]]
    falling: list[Reading] = []
    by_phase: dict[Phase, list[tuple[int, Reading]]] = {}
    risen = len(stroke.readings)
    for i, reading in enumerate(stroke.readings):
        _require_reading(reading)
        phase = reading.phase
        if phase in _RISING:
            risen = i
            # A fall without a vent belongs to the rise that follows it: the rod was not moved in one motion.
            rising[-1] += [*falling, reading] if rising[-1] else [reading]
            falling = []
            continue
        by_phase.setdefault(phase, []).append((i, reading))
        if phase is Phase.FALL:
            falling.append(reading)
        elif phase in _VENTED:
            falling = []
            if rising[-1]:
                rising.append([])
    return _sorted(by_phase, risen, tuple(_approach(readings) for readings in rising if readings))


_RISING = frozenset({Phase.RISE, Phase.SETTING})
_VENTED = frozenset({Phase.ZERO, Phase.ZERO_RETURN, Phase.VENT})
_TRAVEL_OPTIONAL = frozenset({Phase.EXERCISE, Phase.HOLD})


def _sorted(by_phase: dict[Phase, list[tuple[int, Reading]]], risen: int, approaches: tuple[Approach, ...]) -> Parts:
    """Parts of a stroke whose last rising reading is the one at ``risen``: what follows it prepared nothing."""
    exercise = [(i, reading) for i, reading in by_phase.get(Phase.EXERCISE, ()) if i < risen]
    exercised = exercise[-1][0] if exercise else -1

    def last(phase: Phase, after: int) -> Reading | None:
        return next((r for i, r in reversed(by_phase.get(phase, ())) if after < i < risen), None)

    def all_of(phase: Phase) -> tuple[Reading, ...]:
        return tuple(reading for _, reading in by_phase.get(phase, ()))

    return Parts(
        zero=last(Phase.ZERO, -1),
        exercise=tuple(reading for _, reading in exercise),
        zero_return=last(Phase.ZERO_RETURN, exercised) or last(Phase.VENT, exercised),
        vents=all_of(Phase.VENT),
        approaches=approaches,
        fall=all_of(Phase.FALL),
        hold=all_of(Phase.HOLD),
    )


def _approach(readings: list[Reading]) -> Approach:
    last = max((i for i, r in enumerate(readings) if r.phase is Phase.SETTING), default=None)
    if last is None:
        return Approach(tuple(readings), None)
    return Approach(tuple(readings[:last]), readings[last])


def _require_reading(reading: Reading) -> None:
    if not -1e5 <= reading.stimulus <= 1e5:
        require_between(reading.stimulus, -1e5, 1e5, "stimulus")
    travel = reading.travel_mm
    if travel is None:
        if reading.phase not in _TRAVEL_OPTIONAL:
            name = reading.phase.value.replace("_", " ")
            raise MeasurementError("missing_travel", "travel_mm", f"The {name} reading has no travel. Enter it.")
    elif not -10.0 <= travel <= 500.0:
        require_between(travel, -10.0, 500.0, "travel_mm", "mm")
    if reading.seconds is not None:
        require_between(reading.seconds, 0.0, 1e5, "seconds", "s")
    elif reading.phase is Phase.HOLD:
        raise MeasurementError("missing_seconds", "seconds", "The hold reading has no time. Enter its seconds.")


def require_pooled_slope(pooled: PooledSlope) -> None:
    """Refuse a pooled slope that could not come from accepted checks."""
    require_between(pooled.slope, 0.0, 1e4, "slope")
    require_between(pooled.spread, 0.0, 1e4, "spread")


def require_study(study: StudyFigures) -> None:
    """Refuse study figures that could not come from a measurement study."""
    require_between(study.repeatability_mm, 0.0, 100.0, "repeatability_mm", "mm")
    require_between(study.reproducibility_mm, 0.0, 100.0, "reproducibility_mm", "mm")
    for field in ("repeatability_dof", "reproducibility_dof"):
        dof = getattr(study, field)
        require(dof >= 1.0, "out_of_bounds", field, f"{field} is {dof:g}. A study has at least one degree of freedom.")
