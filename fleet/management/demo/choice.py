"""What a technician decides: which instruments, and what to do after the reading."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from fleet.management.demo.cast import Person
from fleet.management.demo.instruments import Instrument
from fleet.management.demo.strokes import Flaw, Sheet, TypedReading
from fleet.management.demo.toolroom import INSTRUMENTS, LAPSED_DIAL

AT_LABORATORY_DAYS = 9


@dataclass(frozen=True, slots=True)
class Kit:
    """The instruments of one check."""

    dial: Instrument
    stimulus: Instrument
    meter: Instrument | None
    regulator: Instrument | None


class Eye(StrEnum):
    """How a reading looks against the window, before any computation."""

    INSIDE = "inside"
    CLOSE = "close"
    OUTSIDE = "outside"


def in_date(instrument: Instrument, day: int) -> bool:
    return any(issued <= day <= issued + instrument.valid_days for issued in instrument.certified)


def at_hand(instrument: Instrument, day: int) -> bool:
    """Whether it is in the depot and in calibration, not on its way to or from the laboratory."""
    away = any(issued - AT_LABORATORY_DAYS <= day <= issued + 1 for issued in instrument.certified[1:])
    return in_date(instrument, day) and not away


def choose_kit(
    person: Person, depot: str, *, electric: bool, day: int, random: np.random.Generator, flaw: Flaw | None
) -> Kit:
    """Pick from the depot's instruments as this person does; habit first, fitness second."""
    here = [i for i in INSTRUMENTS if i.depot == depot]
    ready = [i for i in here if at_hand(i, day)]

    def first(kind: str) -> Instrument:
        return next(i for i in [*ready, *(i for i in here if in_date(i, day)), *here] if i.kind == kind)

    dials = [i for i in ready if i.kind == "dial"] or [i for i in here if i.kind == "dial" and in_date(i, day)]
    liked = [i for i in dials if (i.unit == "thou") == (person.units[1] == "thou")] or dials
    dial = liked[int(random.integers(len(liked)))]
    if flaw is Flaw.OUT_OF_CALIBRATION:
        dial = next(i for i in here if i.label == LAPSED_DIAL)
    if electric:
        return Kit(dial, first("command"), None, None)
    gauges = [i for i in ready if i.kind == "gauge"]
    transducers = [i for i in ready if i.kind == "transducer"]
    if gauges and (not transducers or random.random() < (0.75 if person.prefers_gauge else 0.06)):
        return Kit(dial, gauges[0], None, first("regulator"))
    return Kit(dial, first("transducer"), first("multimeter"), first("regulator"))


def read_by_eye(stroke: list[TypedReading], dial: Instrument) -> float:
    """Travel at the setting as the technician sees it, mm."""
    at = [float(r.travel) for r in stroke if r.phase == "setting" and r.travel is not None]
    return dial.to_base(at[-1])


def look(travel_mm: float, sheet: Sheet, kit: Kit) -> Eye:
    """Compare a reading with the limits, leaving room for the instruments' doubt."""
    doubt = 0.11 if kit.stimulus.kind == "gauge" else 0.06
    nearest = min(travel_mm - sheet.lower_mm, sheet.upper_mm - travel_mm)
    return Eye.INSIDE if nearest > doubt else Eye.OUTSIDE if nearest < -doubt else Eye.CLOSE


def half_turns_to_make(travel_mm: float, sheet: Sheet, person: Person, eye: Eye) -> int:
    """Half turns toward nominal; one adjuster turns what need not be turned, and turns it too far."""
    half_turn_mm = sheet.thread_pitch_mm / 2.0
    wanted = sheet.nominal_mm - travel_mm
    if not person.turns_more:
        return 0 if eye is Eye.INSIDE else round(wanted / half_turn_mm)
    if eye is Eye.INSIDE and abs(wanted) < 0.20:
        return 0
    turns = round(wanted / half_turn_mm) or (1 if wanted > 0 else -1)
    further = turns + (1 if turns > 0 else -1)
    left = travel_mm + further * half_turn_mm
    return further if eye is Eye.OUTSIDE and sheet.lower_mm < left < sheet.upper_mm else turns
