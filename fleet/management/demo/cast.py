"""Who and what plays: depots, people, turbocharger models, instruments, and everything that was planted.

Every name is invented. Days count from the last Monday; two years of checks end on the day before it.
"""

from dataclasses import dataclass

from fleet.management.demo.mechanics import Mechanism
from fleet.management.demo.strokes import Hand

CARRIER = "Marram Coast Bulk"
FIRST_DAY, LAST_DAY = -730, -1


@dataclass(frozen=True, slots=True)
class DepotSheet:
    code: str
    name: str
    first_unit: int
    trucks: int
    checks_per_day: int


DEPOTS = (
    DepotSheet("SALT", "Saltmarsh", 101, 24, 4),
    DepotSheet("BRAE", "Brae End", 201, 18, 3),
    DepotSheet("QUARRY", "Quarry Fork", 301, 18, 3),
)


@dataclass(frozen=True, slots=True)
class Person:
    """Someone who signs in. ``hand`` is theirs who make checks; ``turns_more`` is the habit of one adjuster."""

    username: str
    first_name: str
    last_name: str
    role: str
    depots: tuple[str, ...]
    units: tuple[str, str, str]  # pressure, length, distance
    hand: Hand | None = None
    turns_more: bool = False
    prefers_gauge: bool = False

    @property
    def password(self) -> str:
        return f"{self.username}-and-the-tide"


EVERYWHERE = ("SALT", "BRAE", "QUARRY")
# The dial of Brae End stands on a bent arm: its plunger leans and reads high by 1/cos.
BRAE_TILT_DEG = 20.0
SHORT_RISE = (0.70, 0.85, 0.94)
PEOPLE = (
    Person("warden", "Hollis", "Warde", "administrator", (), ("kPa", "mm", "km")),
    Person("marram", "Edda", "Marram", "manager", EVERYWHERE, ("kPa", "mm", "km")),
    Person("tolly", "Tolly", "Vennick", "technician", ("SALT",), ("psi", "thou", "mi"), Hand(holds=True)),
    Person(
        "brisca",
        "Brisca",
        "Oakenby",
        "technician",
        ("SALT",),
        ("psi", "thou", "mi"),
        Hand(approaches=2),
        turns_more=True,
    ),
    Person(
        "corwin",
        "Corwin",
        "Taceling",
        "technician",
        ("BRAE",),
        ("bar", "mm", "km"),
        Hand(scatter_mm=0.025, tilt_deg=BRAE_TILT_DEG),
        prefers_gauge=True,
    ),
    Person(
        "jessamy",
        "Jessamy",
        "Holt-Quill",
        "technician",
        ("BRAE",),
        ("kPa", "mm", "km"),
        Hand(scatter_mm=0.025, tilt_deg=BRAE_TILT_DEG, rise=SHORT_RISE, returns=False),
    ),
    Person("ansel", "Ansel", "Ruddimer", "technician", ("QUARRY",), ("kPa", "mm", "km"), Hand(), prefers_gauge=True),
    Person(
        "petra",
        "Petra",
        "Lorrimay",
        "technician",
        ("QUARRY",),
        ("kPa", "mm", "km"),
        Hand(holds=True, approaches=2),
    ),
    Person("lune", "Lune", "Farrowell", "viewer", EVERYWHERE, ("psi", "in", "mi")),
)


@dataclass(frozen=True, slots=True)
class SpecificationSheet:
    """One revision as its document prints it: texts in ``stimulus_unit`` and ``length_unit``."""

    revision: str
    document: str
    effective_day: int
    stimulus_unit: str
    length_unit: str
    setting: str
    lower: str
    nominal: str
    upper: str
    maximum: str
    capture: str
    zero_stimulus: str
    zero_travel: str
    thread: tuple[str, str]
    note: str = ""


@dataclass(frozen=True, slots=True)
class ModelSheet:
    """A turbocharger model: specification, mechanism, and the truth of its drift (per 100,000 km)."""

    name: str
    code: str
    stimulus: str
    note: str
    specifications: tuple[SpecificationSheet, ...]
    mechanism: Mechanism
    drift_mm: float
    drift_spread_mm: float
    plant_spread_mm: float
    leak_kpa_per_min: float = 0.4


_TARROWBY_A = SpecificationSheet(
    "A", "Workshop data sheet TB-114", -1900, "psi", "thou", "24", "50", "71", "92", "36", "0.24", "0.5", "2",
    ("32", "threads per inch"),
)  # fmt: skip
_TARROWBY_B = SpecificationSheet(
    "B", "Workshop data sheet TB-114", -365, "psi", "thou", "24", "53", "71", "89", "36", "0.24", "0.5", "2",
    ("32", "threads per inch"), "Window narrowed by 3 thou at each end after field returns.",
)  # fmt: skip
_OSKELUND = SpecificationSheet(
    "1", "Setting instruction OSK 6/2", -1900, "kPa", "mm", "140", "1.10", "1.55", "2.00", "220", "1.4", "3",
    "0.05", ("0.8", "mm"),
)  # fmt: skip
_BRINDLE = SpecificationSheet(
    "2.0", "Actuator note BC-E1", -1900, "%", "mm", "45", "3.20", "4.00", "4.80", "95", "0.45", "0.5", "0.08",
    ("0.7", "mm"), "Command from the service tool.",
)  # fmt: skip

MODELS = (
    ModelSheet(
        "Tarrowby P4", "TP4", "pneumatic", "Single canister, hard spring.", (_TARROWBY_A, _TARROWBY_B),
        Mechanism(compliance=0.0232, knee_mm=0.06, bend=0.25, friction=2.0), 0.22, 0.10, 0.17,
    ),
    ModelSheet(
        "Oskelund P6", "OP6", "pneumatic", "Fitted singly and in pairs.", (_OSKELUND,),
        Mechanism(compliance=0.0217, knee_mm=0.05, bend=0.30, friction=1.6), 0.03, 0.11, 0.17,
    ),
    ModelSheet(
        "Brindlecap E1", "BE1", "electric", "Electric actuator with a service tool.", (_BRINDLE,),
        Mechanism(compliance=0.0896, knee_mm=0.08, bend=0.02, friction=0.3), -0.24, 0.18, 0.30, leak_kpa_per_min=0.0,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Planted:
    """What was put into the two years for a visitor to find."""

    batch_size: int = 7
    batch_offset_mm: float = 0.38
    batch_spread_mm: float = 0.06  # one jig, wrongly set, served them all
    jump_day: int = -118
    jump_mm: float = -0.62
    stick_kpa: float = 9.0
    leak_kpa_per_min: float = 14.0
    flaw_share: float = 0.035


PLANTED = Planted()


@dataclass(frozen=True, slots=True)
class FoundLately:
    """A unit that moved ``beyond_mm`` past a limit (below zero: short of it) and waits since it was looked at."""

    code: str
    depot: str
    place: int
    day: int
    side: int  # -1 lower limit, 1 upper limit
    beyond_mm: float


FOUND_LATELY = (
    FoundLately("TP4", "SALT", -2, -11, 1, 0.16),
    FoundLately("OP6", "SALT", -1, -3, -1, 0.21),
    FoundLately("TP4", "QUARRY", -2, -18, 1, 0.12),
    FoundLately("BE1", "QUARRY", -1, -4, -1, 0.33),
    FoundLately("OP6", "QUARRY", -1, -10, 1, -0.002),
    FoundLately("TP4", "SALT", -3, -14, -1, 0.0),
    FoundLately("OP6", "SALT", -2, -4, 1, 0.003),
)
MOVED_BEFORE_DAYS = 12
