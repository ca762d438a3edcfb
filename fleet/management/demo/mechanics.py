"""How an actuator moves. Stimulus is kPa (gauge) or % of command, travel mm."""

from dataclasses import dataclass
from math import exp, expm1, log, log1p, sqrt


@dataclass(frozen=True, slots=True)
class Mechanism:
    """What all actuators of a model share.

    ``compliance``: mm of spring per kPa or %; ``knee_mm``: how softly travel starts once the preload is
    overcome; ``bend``: how much steeper it becomes, per mm; ``friction``: kPa or % lost each way.
    """

    compliance: float
    knee_mm: float
    bend: float
    friction: float

    def travel_mm(self, effective: float, preload_mm: float) -> float:
        """Travel at a stimulus net of friction, with a spring shortened by ``preload_mm``."""
        over = (self.compliance * effective - preload_mm) / self.knee_mm
        opened = self.knee_mm * (over + log1p(exp(-over)) if over > 0 else log1p(exp(over)))
        return opened * (1.0 + self.bend * opened)

    def preload_mm(self, setting: float, travel_mm: float, friction: float) -> float:
        """Preload that gives ``travel_mm`` at the setting, reached on the rise."""
        opened = (sqrt(1.0 + 4.0 * self.bend * travel_mm) - 1.0) / (2.0 * self.bend)
        over = self.knee_mm * log(expm1(opened / self.knee_mm))
        return self.compliance * (setting - friction) - over

    def slope(self, travel_mm: float) -> float:
        """Travel gained per kPa or % well above the start, mm."""
        return self.compliance * sqrt(1.0 + 4.0 * self.bend * travel_mm)


class Actuator:
    """One actuator on the bench. Friction holds the rod back on the rise and out on the fall.

    ``stick`` is the extra stimulus needed to break a sticking rod loose, after which it jumps.
    """

    def __init__(
        self,
        mechanism: Mechanism,
        setting: float,
        travel_mm: float,
        *,
        friction: float | None = None,
        stick: float = 0.0,
    ) -> None:
        self.mechanism = mechanism
        self.friction = mechanism.friction if friction is None else friction
        self.stick = stick
        self.preload_mm = mechanism.preload_mm(setting, max(travel_mm, 0.05), self.friction)
        self.effective = 0.0

    def move_to(self, stimulus: float) -> float:
        """Bring the stimulus steadily to a value and return the travel, mm."""
        if stimulus - self.friction > self.effective + self.stick:
            self.effective = stimulus - self.friction
        elif stimulus + self.friction < self.effective:
            self.effective = stimulus + self.friction
        return self.mechanism.travel_mm(self.effective, self.preload_mm)
