"""Which kinds of instrument can play which part in a check: the one table that services, pages and tablets ask."""

from checks.models.instrument import Instrument

Kind = Instrument.Kind
# What tells the stimulus, by what the actuator listens to.
PRESSURE: tuple[str, ...] = (
    Kind.TRANSDUCER,
    Kind.GAUGE,
)
POSITION: tuple[str, ...] = (Kind.COMMAND,)
OTHER_PARTS: dict[str, tuple[str, ...]] = {
    "dial": (Kind.DIAL,),
    "meter": (Kind.MULTIMETER,),
    "regulator": (Kind.REGULATOR,),
}
PARTS = ("dial", "stimulus", "meter", "regulator")
# Scales that are read by eye, to a share of a division.
BY_EYE = frozenset({Kind.DIAL, Kind.GAUGE})


def kinds_for(part: str, *, electric: bool) -> tuple[str, ...]:
    """Kinds that can play a part: ``dial``, ``stimulus``, ``meter`` or ``regulator``."""
    if part == "stimulus":
        return POSITION if electric else PRESSURE
    return OTHER_PARTS[part]
