"""All rules that fire for a unit, the one that binds, and one sentence why."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from checks.rules.recheck.after_adjustment import after_adjustment
from checks.rules.recheck.calendar_maximum import calendar_maximum
from checks.rules.recheck.first_look import first_look
from checks.rules.recheck.instrument_recall import instrument_recall
from checks.rules.recheck.open_complaint import open_complaint
from checks.rules.recheck.outside_left import outside_left
from checks.rules.recheck.risk import risk
from checks.rules.recheck.undecided import undecided
from checks.rules.recheck.unit import Due, Limits, Unit, day
from checks.rules.recheck.usage_maximum import usage_maximum
from checks.rules.recheck.void import void

# Of two rules due on the same day the first listed binds: the graver reason comes first.
RULES: tuple[Callable[[Unit, Limits], Due | None], ...] = (
    outside_left,
    void,
    instrument_recall,
    undecided,
    open_complaint,
    risk,
    after_adjustment,
    first_look,
    usage_maximum,
    calendar_maximum,
)


@dataclass(frozen=True, slots=True)
class Decision:
    """When to look again: the binding rule first among ``fired``. Without a rule there is nothing to plan."""

    fired: tuple[Due, ...]
    sentence: str

    @property
    def binding(self) -> Due | None:
        return self.fired[0] if self.fired else None

    @property
    def due_on(self) -> date | None:
        return self.fired[0].on if self.fired else None

    @property
    def due_odometer_km(self) -> float | None:
        """The lowest odometer at which any rule asks for a look."""
        return min((due.odometer_km for due in self.fired if due.odometer_km is not None), default=None)


def decide(unit: Unit, limits: Limits) -> Decision:
    """Ask every rule; the earliest day binds, and all that fired are kept."""
    fired = [due for rule in RULES if (due := rule(unit, limits)) is not None]
    fired.sort(key=lambda due: due.on)
    if not fired:
        return Decision((), "Nothing is due.")
    return Decision(tuple(fired), f"Due by {day(fired[0].on)}. {fired[0].sentence}")
