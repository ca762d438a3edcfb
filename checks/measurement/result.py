"""From a stroke to a verdict: one frozen result that keeps every number it rests on."""

from dataclasses import dataclass

from checks.measurement.specification import State
from checks.measurement.telling import Value, tell


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """One line of the uncertainty budget (JCGM 100, 8): contribution = |sensitivity| * standard uncertainty, mm."""

    symbol: str
    source: str
    value: float
    unit: str
    standard_uncertainty: float
    distribution: str  # 'normal', 'rectangular', 't', 'triangular'
    sensitivity: float
    contribution_mm: float
    dof: float  # inf where known exactly


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    """Why there is no verdict: the code, the sentence in kept units, what to repeat; ``unsafe`` flags the unit.

    ``pattern`` is the sentence with ``{}`` where each of ``values`` stands, for readers with units of their own.
    """

    code: str
    sentence: str
    repeat: str
    unsafe: bool = False
    pattern: str = ""
    values: tuple[Value, ...] = ()


def void(code: str, pattern: str, *values: Value, repeat: str, unsafe: bool = False) -> Void:
    """A void whose sentence is ``pattern`` with ``values`` filled in."""
    return Void(code=code, sentence=tell(pattern, values), repeat=repeat, unsafe=unsafe, pattern=pattern, values=values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    value: float
    standard_uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveFeatures:
    """What the stroke says beyond the one reading. None where the readings do not suffice.

    ``start``: start-of-travel stimulus; ``slope``: mm per kPa or % at the setting; ``hysteresis``: mm at the
    setting; ``sticking``: largest unexplained step in mm (None: none found); ``leak_rate``: kPa/min.
    """

    start: Estimate | None = None
    slope: Estimate | None = None
    hysteresis: Estimate | None = None
    sticking: Estimate | None = None
    leak_rate: Estimate | None = None
    points: tuple[tuple[str, float, float], ...] = ()  # (phase, corrected stimulus, corrected travel mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """Fitness of an instrument set: corrected travels between which a reading proves 'inside'.

    ``low_mm`` and ``high_mm`` are None where no reading could prove the window.
    """

    low_mm: float | None
    high_mm: float | None
    expanded_uncertainty_mm: float
    test_uncertainty_ratio: float
    problems: tuple[str, ...] = ()  # sentences: out of date, range too short, cannot prove this window


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Adjustment. ``half_turns`` > 0 lengthens the rod. ``refusal`` is the reason where there is no advice."""

    half_turns: int | None
    predicted_mm: float | None = None
    predicted_expanded_mm: float | None = None
    predicted_p_inside: float | None = None
    refusal_code: str | None = None
    refusal: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """The verdict on one stroke. Travel and uncertainties are None when the stroke allows no travel at all.

    Probabilities are None where the stroke is void. ``method`` is 'first_order' (JCGM 100), or 'monte_carlo' where the
    curve is too bent for it and distributions were propagated (JCGM 101): ``travel_mm`` is then the mean, and
    ``interval_mm`` need not lie evenly about it.
    """

    state: State
    travel_mm: float | None
    standard_uncertainty_mm: float | None
    coverage_factor: float | None
    effective_dof: float | None
    expanded_uncertainty_mm: float | None
    interval_mm: tuple[float, float] | None
    p_inside: float | None
    p_below: float | None
    p_above: float | None
    method: str  # 'first_order' or 'monte_carlo'
    curvature: float | None  # kappa of the switch
    slope_source: str  # 'curve', 'model' or 'assumed'
    budget: tuple[BudgetLine, ...]
    voids: tuple[Void, ...]
    features: CurveFeatures
    acceptance: Acceptance | None
    advice: Advice
    warnings: tuple[str, ...] = ()
