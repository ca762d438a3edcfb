"""What was planted, as a file that visitors and tests may hold against what the pages say.

Days count from the last Monday at load; lengths are mm, pressures kPa, drift mm per 100,000 km.
"""

import json
from dataclasses import asdict
from math import cos, expm1, radians
from pathlib import Path
from typing import Any

from fleet.management.demo.cast import BRAE_TILT_DEG, CARRIER, MODELS, PEOPLE, PLANTED
from fleet.management.demo.events import History, MadeCheck
from fleet.management.demo.fleet import sheet_of, specification_on
from fleet.management.demo.history import simulate
from fleet.management.demo.streams import SEED
from fleet.management.demo.strokes import Sheet, TypedReading, held_kpa
from fleet.management.demo.studies import STOPS, true_travels
from fleet.management.demo.thirsts import CURRENCY, FUEL, FUEL_PRICES, SILENT_THIRST, STOOD_OUTSIDE, THIRSTS
from fleet.management.demo.toolroom import INSTRUMENTS, LAPSED_DIAL

PATH = Path(__file__).resolve().parents[3] / "fixtures" / "demo" / "truth.json"


def truth_of(history: History, seed: int = SEED) -> dict[str, Any]:
    """Everything that was put in, ready for JSON."""
    return {
        "carrier": CARRIER,
        "seed": seed,
        "days": "counted from the last Monday at load; 0 is that Monday",
        "models": {
            model.name: {
                "drift_mm_per_100000_km": model.drift_mm,
                "drift_spread_mm": model.drift_spread_mm,
                "plant_spread_mm": model.plant_spread_mm,
            }
            for model in MODELS
        },
        "planted": _planted(history, seed),
        "voids": [
            {"serial": check.serial, "day": check.day, "code": str(check.flaw)}
            for check in history.checks
            if check.flaw
        ],
        "complaints": {
            "explained": sum(c.explained for c in history.complaints),
            "not_explained": sum(not c.explained for c in history.complaints),
        },
        "fuel": _fuel(history),
        "units": {
            unit.serial: {"plant_mm": unit.plant_mm, "drift_mm_per_100000_km": unit.drift_mm, "origin": unit.origin}
            for unit in history.fleet.units.values()
        },
    }


def _fuel(history: History) -> dict[str, Any]:
    return {
        "percent_per_tenth_mm": {
            "shortfall": round(100 * expm1(0.1 * FUEL.shortfall_mm), 3),
            "excess": round(100 * expm1(0.1 * FUEL.excess_mm), 3),
        },
        "against": "the mean over a truck's positions of true travel beyond the window of the revision in force",
        "thirsty_but_inside": [asdict(thirst) for thirst in THIRSTS],
        "thirsty_and_nobody_complains": SILENT_THIRST,
        "silent_outside": history.fleet.planted["silent"],
        "stood_outside": [asdict(stood) for stood in STOOD_OUTSIDE],
        "prices_per_litre": {"currency": CURRENCY, **{depot or "all": rows for depot, rows in FUEL_PRICES.items()}},
    }


def _planted(history: History, seed: int) -> dict[str, Any]:
    fleet = history.fleet
    gauge, knock = next((instrument, instrument.knock) for instrument in INSTRUMENTS if instrument.knock)
    adjuster = next(person for person in PEOPLE if person.turns_more)
    return {
        "mis_set_batch": {
            "model": "Oskelund P6", "offset_mm": PLANTED.batch_offset_mm, "serials": fleet.planted["mis_set_batch"],
        },
        "gauge_out_of_calibration": {
            "label": gauge.label, "from_day": knock.day, "found_day": knock.found_day,
            "reads_high_by_share": knock.share, "checks": _made_with_knocked(history, gauge.label),
            "verdicts_that_fall": _fallen(history, gauge.label),
        },
        "depot_that_measures_differently": {
            "depot": "Brae End", "cause": f"the dial's plunger leans by {BRAE_TILT_DEG:g} degrees",
            "reads_high_by_share": round(1.0 / cos(radians(BRAE_TILT_DEG)) - 1.0, 4),
        },
        "round_of_bench_units": {
            "model": "Oskelund P6", "stops": [{"depot": stop.depot, "day": stop.day, "published": stop.published}
                                              for stop in STOPS],
            "true_travel_mm": {name: round(value, 4) for name, value in true_travels(seed).items()},
        },
        "drifting_model": "Tarrowby P4",
        "adjuster_who_turns_more": adjuster.username,
        "jump": {"serial": fleet.planted["jump"], "day": PLANTED.jump_day, "mm": PLANTED.jump_mm},
        "sticking": {"serial": fleet.planted["sticking"], "kpa": PLANTED.stick_kpa},
        "leaking_canister": {
            "serial": fleet.planted["leaking"], "kpa_per_min": PLANTED.leak_kpa_per_min,
            "kpa_lost_in_first_minute": round(_lost_in_first_minute(history, str(fleet.planted["leaking"])), 2),
        },
        "moved_unit": fleet.planted["moved_unit"],
        "left_outside": fleet.planted["left_outside"],
        "left_undecided": fleet.planted["left_undecided"],
        "never_checked": fleet.planted["never_checked"],
        "overdue": fleet.planted["overdue"],
        "lapsed_instrument": LAPSED_DIAL,
    }  # fmt: skip


def _lost_in_first_minute(history: History, serial: str) -> float:
    setting = sheet_of(history.fleet.units[serial].model.specifications[-1]).setting
    full, left = (held_kpa(setting, PLANTED.leak_kpa_per_min, seconds) for seconds in (0, 60))
    return full - left


def made_with_knocked(check: MadeCheck, label: str) -> bool:
    """Whether a check was made with that gauge while it was wrong."""
    knock = check.kit.stimulus.knock
    return bool(knock and check.kit.stimulus.label == label and knock.day <= check.day < knock.found_day)


def _made_with_knocked(history: History, label: str) -> int:
    return sum(made_with_knocked(check, label) for check in history.checks)


def _fallen(history: History, label: str) -> list[dict[str, Any]]:
    """Strokes with the knocked gauge whose pressure, as it truly was, never came within tolerance of the setting."""
    fallen = []
    for check in history.checks:
        strokes = {"as_found": check.as_found, "as_left": check.as_left} if made_with_knocked(check, label) else {}
        for moment, readings in strokes.items():
            if readings and not check.flaw and _short_by(check, readings) > _sheet(check).capture_tolerance:
                fallen.append({"serial": check.serial, "day": check.day, "moment": moment})
    return fallen


def _sheet(check: MadeCheck) -> Sheet:
    return sheet_of(specification_on(check.model, check.day))


def _short_by(check: MadeCheck, readings: list[TypedReading]) -> float:
    """How far the pressure at the last reading at the setting stayed below it in truth, kPa."""
    gauge = check.kit.stimulus
    zero = next(float(reading.stimulus) for reading in readings if reading.phase == "zero")
    net = [float(reading.stimulus) for reading in readings if reading.phase == "setting"][-1] - zero
    return _sheet(check).setting - gauge.to_base(net - gauge.true_error(net, check.day))


def as_text(seed: int = SEED) -> str:
    """The file's content."""
    return json.dumps(truth_of(simulate(seed), seed), indent=1, ensure_ascii=False) + "\n"


def write() -> None:
    PATH.parent.mkdir(parents=True, exist_ok=True)
    PATH.write_text(as_text(), encoding="utf-8")
