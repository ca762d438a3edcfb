"""How each value of a specification is read: its unit, its bounds, and what is refused at once."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from checks.models import SpecificationRevision
from checks.services.entry import COMMAND, LENGTH, PRESSURE, Entry, Reader
from fleet.models import TurbochargerModel

OF_SETTING = "% of setting"
THREADS_PER_INCH = "threads per inch"
# The bounds of the database, so that a value beyond them is refused in words before it gets there.
HIGHEST = {"kPa": 2000.0, "%": 100.0}
HIGHEST_MM = 100.0
SIGNS = {"1": "a longer rod gives more travel", "-1": "a longer rod gives less travel"}

# Pitches of ISO 261 (coarse) and ASME B1.1 that rod ends carry; suggestions, any pitch may be typed.
# Membership of the series is from memory; a pitch in threads per inch is exact.
THREADS = {
    "M5": ("0.8", "mm"),
    "M6": ("1", "mm"),
    "M8": ("1.25", "mm"),
    "10-24 UNC": ("24", THREADS_PER_INCH),
    "10-32 UNF": ("32", THREADS_PER_INCH),
    "1/4-28 UNF": ("28", THREADS_PER_INCH),
    "5/16-24 UNF": ("24", THREADS_PER_INCH),
}


def stimulus_units(turbocharger_model: TurbochargerModel) -> tuple[str, ...]:
    """Units in which this model's stimulus may be typed, the stored one first."""
    return COMMAND if turbocharger_model.stimulus == TurbochargerModel.Stimulus.ELECTRIC else PRESSURE


def latest_day() -> date:
    """No revision begins or ends later than this."""
    return timezone.localdate() + timedelta(days=5 * 366)


def fill(row: SpecificationRevision, entry: Entry) -> None:
    """Read `entry` into `row`. Raises FleetErrors with every wrong field."""
    reader = Reader(entry)
    values = _document(reader) | _stimulus(reader, row.turbocharger_model) | _travel(reader) | _adjustment(reader)
    _refuse_zeros(reader, values)
    reader.refuse_faults()
    for name, value in values.items():
        setattr(row, name, value)
    row.typed = reader.typed


def _refuse_zeros(reader: Reader, values: dict[str, Any]) -> None:
    """Tolerances of the zero by which nothing could be judged."""
    for name in ("zero_tolerance_stimulus", "zero_tolerance_mm"):
        if values[name] == 0:
            sentence = (
                "A zero tolerance must be above zero: no instrument shows exactly zero. Enter how far off it may be."
            )
            reader.fault(name, "zero_tolerances_positive", sentence)
    lower, upper, zero = (values[name] for name in ("lower_mm", "upper_mm", "zero_tolerance_mm"))
    if None not in (lower, upper, zero) and zero >= (upper - lower) * (1 - 1e-9) > 0:
        reader.fault(
            "zero_tolerance_mm",
            "zero_wider_than_window",
            f"The zero tolerance of the travel is as wide as the window of {upper - lower:.3g} mm, so no reading could "
            "be judged. Check the units of both.",
        )


def _document(reader: Reader) -> dict[str, Any]:
    return {
        "revision": reader.text("revision", "The name of the revision", longest=20, required=True),
        "source_document": reader.text("source_document", "The source document", longest=120, required=True),
        "source_revision": reader.text("source_revision", "The revision of the document", longest=40),
        "effective_from": reader.day("effective_from", "The first day in force", latest=latest_day()),
        "note": reader.text("note", "The note", longest=4000),
    }


def _stimulus(reader: Reader, turbocharger_model: TurbochargerModel) -> dict[str, Any]:
    known = stimulus_units(turbocharger_model)
    high = HIGHEST[known[0]]
    highest = "The canister maximum" if known == PRESSURE else "The highest command"
    setting = reader.quantity("setting", "The setting", known, low=0, high=high)
    maximum = reader.quantity("stimulus_max", highest, known, low=0, high=high)
    if known == PRESSURE and setting is not None and maximum is not None and setting >= maximum:
        reader.fault(
            "setting",
            "setting_below_maximum",
            f"The setting of {' '.join(reader.typed['setting'])} is not below the canister maximum of "
            f"{' '.join(reader.typed['stimulus_max'])}. Check both numbers and their units.",
        )
    share: dict[str, Callable[[float], float]] = {OF_SETTING: lambda percent: percent / 100 * (setting or 0.0)}
    return {
        "setting": setting,
        "stimulus_max": maximum,
        "capture_tolerance": reader.quantity(
            "capture_tolerance", "The capture tolerance", (*known, OF_SETTING), low=0, high=high, own=share
        ),
        "zero_tolerance_stimulus": reader.quantity(
            "zero_tolerance_stimulus", "The zero tolerance", known, low=0, high=high
        ),
        "exercise_cycles": reader.whole("exercise_cycles", "The number of exercise cycles", low=0, high=10),
    }


def _travel(reader: Reader) -> dict[str, Any]:
    labels = {
        "lower_mm": "The lower limit",
        "nominal_mm": "The nominal",
        "upper_mm": "The upper limit",
        "zero_tolerance_mm": "The zero tolerance of the travel",
    }
    return {name: reader.quantity(name, label, LENGTH, low=0, high=HIGHEST_MM) for name, label in labels.items()}


def _adjustment(reader: Reader) -> dict[str, Any]:
    thread = str(reader.entry.get("thread") or "")
    if thread in THREADS:
        reader.entry = {**reader.entry, "thread_pitch_mm": list(THREADS[thread])}
    sign = reader.choice("adjustment_sign", "What a longer rod does", SIGNS)
    return {
        "thread_pitch_mm": reader.quantity(
            "thread_pitch_mm",
            "The thread pitch",
            ("mm", "in", THREADS_PER_INCH),
            low=0.1,
            high=5,
            required=False,
            own={THREADS_PER_INCH: lambda threads: 25.4 / threads},
        ),
        "adjustment_sign": int(sign) if sign else None,
        "adjustment_range_half_turns": reader.whole(
            "adjustment_range_half_turns", "The adjustment range", low=0, high=40
        ),
    }
