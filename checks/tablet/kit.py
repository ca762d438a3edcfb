"""The instruments chosen for a check under way, and the units in which they are read."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from checks.convert import to_alignment, to_instruments
from checks.measurement.calibration import Alignment
from checks.measurement.correction import Channels, channels
from checks.measurement.units import accepted_units, parse_decimal
from checks.models import Instrument, SpecificationRevision
from checks.services.readings import Scale, scale_of
from checks.tablet.entry import LENGTH
from fleet.models import User


@dataclass(frozen=True, slots=True)
class Kit:
    """The instruments chosen for this check, and the units in which they are read."""

    dial: Instrument
    stimulus: Instrument
    meter: Instrument | None
    regulator: Instrument | None
    channels: Channels
    scale: Scale
    stimulus_units: tuple[str, ...]
    stimulus_unit: str
    travel_unit: str


def kit_of(
    chosen: Mapping[str, Instrument | None],
    specification: SpecificationRevision,
    alignment: Alignment,
    user: User,
    on: date,
) -> Kit:
    """The kit of the instruments chosen by part, with the certificates that count on the day ``on``."""
    dial, stimulus, meter = chosen["dial"], chosen["stimulus"], chosen.get("meter")
    if dial is None or stimulus is None:
        raise LookupError("a kit needs a dial indicator and what tells the stimulus")
    scale = scale_of(specification, stimulus, meter)
    tools = to_instruments(dial=dial, stimulus=stimulus, meter=meter, alignment=alignment, on=on)
    units = accepted_units(scale.unit)
    return Kit(
        dial=dial,
        stimulus=stimulus,
        meter=meter,
        regulator=chosen.get("regulator"),
        channels=channels(tools),
        scale=scale,
        stimulus_units=units,
        stimulus_unit=_preferred(stimulus, units, user),
        travel_unit=_preferred(dial, LENGTH, user),
    )


def set_up(answer: Mapping[str, Any]) -> Alignment:
    """How the dial stands, as it was answered."""
    return to_alignment(
        geometry=answer["geometry"],
        angle_deg=_number(answer["angle_deg"]),
        angle_max_deg=_number(answer["angle_max_deg"]) or 0.0,
    )


def _preferred(instrument: Instrument, units: tuple[str, ...], user: User) -> str:
    """The unit on the instrument's own scale where that is known, else the person's."""
    own = (instrument.typed or {}).get("division") or ["", ""]
    wanted = [own[1], user.pressure_unit, user.length_unit]
    return next((unit for unit in wanted if unit in units), units[0])


def _number(typed: str | None) -> float | None:
    return parse_decimal(str(typed)) if typed not in (None, "") else None
