"""What was planted about fuel: units that stood outside for long, thirst of other causes, physics and prices."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StoodOutside:
    """A unit that stood beyond a limit until someone first looked, on ``seen_day``.

    ``truck``: its number. ``fitted_day``: when it came as a reconditioned unit set wrong, or None where the unit that
    was there stood so from the first day of the two years on. ``left``: it was seen, and nobody set it since.
    """

    truck: str
    seen_day: int
    side: int
    beyond_mm: float
    fitted_day: int | None = None
    left: bool = False


STOOD_OUTSIDE = (
    StoodOutside("101", -251, 1, 0.10),
    StoodOutside("106", -498, 1, 0.20),
    StoodOutside("107", -283, 1, 0.22),
    StoodOutside("121", -338, 1, 0.24),
    StoodOutside("302", -470, 1, 0.30),
    StoodOutside("307", -321, 1, 0.34),
    StoodOutside("312", -431, 1, 0.16),
    StoodOutside("212", -389, 1, 0.18),
    StoodOutside("206", -545, 1, 0.26),
    StoodOutside("105", -212, -1, 0.12),
    StoodOutside("310", -304, -1, 0.18),
    StoodOutside("305", -402, -1, 0.16),
    StoodOutside("215", -455, -1, 0.30),
    StoodOutside("110", -423, -1, 0.10),
    StoodOutside("311", -366, -1, 0.30),
    StoodOutside("102", -569, -1, 0.32),
    StoodOutside("306", -141, 1, 0.26, fitted_day=-243, left=True),
    StoodOutside("115", -118, -1, 0.38, fitted_day=-222, left=True),
)


@dataclass(frozen=True, slots=True)
class Thirst:
    """A truck that burns ``share`` more between two days for a reason that is not its wastegate."""

    truck: str
    from_day: int
    to_day: int
    share: float
    cause: str


THIRSTS = (
    Thirst("208", -171, 0, 0.065, "a brake of the second axle drags"),
    Thirst("308", -262, 0, 0.055, "the deflector on the cab is gone"),
    Thirst("118", -124, 0, 0.08, "an injector leaks"),
    Thirst("205", -352, -216, 0.06, "tyres were run soft until somebody looked"),
)
# Its driver says nothing.
SILENT_THIRST = "308"


@dataclass(frozen=True, slots=True)
class FuelPhysics:
    """What moves fuel use, in log(L/100 km) per unit; the two last are the wastegate's, per mm."""

    payload_t: float = 0.012
    ascent_m_per_km: float = 0.015
    speed_kmh: float = -0.009
    speed2: float = 0.00009
    idle_share: float = 0.35
    temperature_c: float = -0.002
    shortfall_mm: float = 0.18
    excess_mm: float = 0.12
    level_spread: float = 0.05
    month_spread: float = 0.006
    wander: float = 0.002  # of a truck's level from one month to the next
    trip_spread: float = 0.035


FUEL = FuelPhysics()
# Per litre, invented; the first holds from before the two years on.
CURRENCY = "EUR"
FUEL_PRICES = {
    "": ((-900, "1.412"), (-431, "1.486"), (-187, "1.451")),
    "QUARRY": ((-900, "1.398"), (-298, "1.447")),
}
