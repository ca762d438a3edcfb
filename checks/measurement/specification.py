"""What a wastegate should do, and by which rule a reading is judged."""

from dataclasses import dataclass
from enum import StrEnum

from checks.measurement.guard import require, require_between, require_positive


class Stimulus(StrEnum):
    """What moves the actuator. Its values are gauge pressure in kPa or commanded position in %."""

    PNEUMATIC = "pneumatic"
    ELECTRIC = "electric"

    @property
    def unit(self) -> str:
        return "kPa" if self is Stimulus.PNEUMATIC else "%"


class State(StrEnum):
    """The five states of a judged reading."""

    INSIDE = "inside"
    OUTSIDE_LOW = "outside_low"
    OUTSIDE_HIGH = "outside_high"
    UNDECIDED = "undecided"
    VOID = "void"


@dataclass(frozen=True, slots=True, kw_only=True)
class Specification:
    """One revision of a specification. Stimulus values are kPa (gauge) or %, lengths mm.

    ``adjustment_sign`` is +1 where lengthening the rod raises travel (the usual case) and -1 where it
    lowers it; ``adjustment_range_half_turns`` is the most that may be turned either way.
    Tolerances are absolute, in the unit of the quantity.
    """

    stimulus: Stimulus
    setting: float
    lower_mm: float
    nominal_mm: float
    upper_mm: float
    stimulus_max: float
    exercise_cycles: int
    capture_tolerance: float
    zero_tolerance_stimulus: float
    zero_tolerance_mm: float
    thread_pitch_mm: float | None
    adjustment_sign: int
    adjustment_range_half_turns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """How readings become verdicts. ``inside_level`` is the conformance probability asked for (JCGM 106)."""

    inside_level: float = 0.95
    coverage_probability: float = 0.95
    # Assumed where neither repeated approaches nor a measurement study of the depot tell better.
    assumed_repeatability_mm: float = 0.01
    # Assumed slope (share of nominal travel gained over 10 % of the setting) where no curve or model tells better.
    assumed_slope_share: float = 0.5


TRAVEL_CEILING_MM = 500.0
STIMULUS_CEILING = 10_000.0


def require_specification(specification: Specification) -> None:
    """Refuse a specification by which no reading could be judged.

    Raises
    ------
    MeasurementError
        ``out_of_bounds``, ``not_a_number``, ``window_not_ordered``, ``setting_not_below_maximum``,
        ``adjustment_sign``.
    """
    spec, unit = specification, specification.stimulus.unit
    require_positive(spec.setting, "setting", unit, high=STIMULUS_CEILING)
    require_positive(spec.stimulus_max, "stimulus_max", unit, high=STIMULUS_CEILING)
    for field in ("lower_mm", "nominal_mm", "upper_mm"):
        require_between(getattr(spec, field), 0.0, TRAVEL_CEILING_MM, field, "mm")
    require_between(spec.zero_tolerance_mm, 0.0, TRAVEL_CEILING_MM, "zero_tolerance_mm", "mm")
    require_between(spec.capture_tolerance, 0.0, spec.setting, "capture_tolerance", unit)
    require_between(spec.zero_tolerance_stimulus, 0.0, spec.setting, "zero_tolerance_stimulus", unit)
    require_between(spec.exercise_cycles, 0, 100, "exercise_cycles")
    require_between(spec.adjustment_range_half_turns, 0, 1000, "adjustment_range_half_turns")
    if spec.thread_pitch_mm is not None:
        require_positive(spec.thread_pitch_mm, "thread_pitch_mm", "mm", high=10.0)
    _require_order(spec)
    require(
        spec.adjustment_sign in (-1, 1),
        "adjustment_sign",
        "adjustment_sign",
        "The adjustment sign must be +1 (a longer rod raises travel) or -1 (it lowers travel).",
    )


def _require_order(spec: Specification) -> None:
    unit = spec.stimulus.unit
    ordered = spec.lower_mm < spec.upper_mm and spec.lower_mm <= spec.nominal_mm <= spec.upper_mm
    require(
        ordered,
        "window_not_ordered",
        "nominal_mm",
        f"The window reads {spec.lower_mm:g}, {spec.nominal_mm:g}, {spec.upper_mm:g} mm. "
        "Lower limit, nominal and upper limit must rise in that order.",
    )
    # An electric actuator may be set at the end of its command range, so equality is allowed there.
    below = spec.setting < spec.stimulus_max or (
        spec.stimulus is Stimulus.ELECTRIC and spec.setting <= spec.stimulus_max
    )
    require(
        below,
        "setting_not_below_maximum",
        "setting",
        f"The setting of {spec.setting:g} {unit} is not below the highest permitted {spec.stimulus_max:g} {unit}. "
        "Check both against the source document.",
    )


def require_policy(policy: Policy) -> None:
    """Refuse levels that are not probabilities above one half, and assumptions that are not positive."""
    require_between(policy.inside_level, 0.5, 0.9999, "inside_level")
    require_between(policy.coverage_probability, 0.5, 0.9999, "coverage_probability")
    require_positive(policy.assumed_repeatability_mm, "assumed_repeatability_mm", "mm", high=TRAVEL_CEILING_MM)
    require_positive(policy.assumed_slope_share, "assumed_slope_share", high=100.0)
