"""What each write may look like, shown in the description. A test holds every example to the shape it is one of."""

from typing import Any


def _typed(text: str, unit: str) -> dict[str, str]:
    return {"text": text, "unit": unit}


def _reading(phase: str, psi: str, thou: str | None = None) -> dict[str, Any]:
    return {"phase": phase, "stimulus": _typed(psi, "psi"), "travel": _typed(thou, "thou") if thou else None}


METERS = {"odometer": _typed("212000", "km"), "engine_hours": _typed("5120.5", "h")}
CHECK = {
    "turbocharger": 31,
    "specification": 4,
    "reason": "scheduled",
    "made_at": "2026-03-04T09:30:00+00:00",
    **METERS,
    "instruments": {"dial": 12, "stimulus": 9, "meter": None, "regulator": None},
    "alignment": {"geometry": "flat_face", "angle_deg": None, "angle_max_deg": "2"},
    "cautions_read_at": "2026-03-04T09:05:00+00:00",
    "as_found": {
        "readings": [
            _reading("zero", "0", "0"),
            *[_reading("exercise", "35")] * 3,
            _reading("zero_return", "0", "0"),
            _reading("rise", "26", "20"),
            _reading("rise", "29", "41"),
            _reading("setting", "31", "59.5"),
        ]
    },
    "note": "",
}
SPECIFICATION = {
    "turbocharger_model": 2,
    "revision": "A",
    "source_document": "Bench sheet 12",
    "effective_from": "2026-01-01",
    "setting": _typed("31", "psi"),
    "stimulus_max": _typed("43", "psi"),
    "capture_tolerance": _typed("1", "% of setting"),
    "zero_tolerance_stimulus": _typed("0.25", "psi"),
    "exercise_cycles": 3,
    "lower_mm": _typed("0.038", "in"),
    "nominal_mm": _typed("0.059", "in"),
    "upper_mm": _typed("0.080", "in"),
    "zero_tolerance_mm": _typed("1", "thou"),
    "thread_pitch_mm": _typed("28", "threads per inch"),
    "adjustment_sign": 1,
    "adjustment_range_half_turns": 6,
}
INSTRUMENT = {
    "kind": "gauge",
    "depot": 1,
    "label": "PG-03",
    "range_low": _typed("0", "psi"),
    "range_high": _typed("60", "psi"),
    "division": _typed("1", "psi"),
    "permissible_error": _typed("1.6", "% of span"),
    "read_to": "0.5",
}
CERTIFICATE = {
    "number": "K-1041",
    "laboratory": "Dunlin Calibration",
    "issued_on": "2026-02-01",
    "due_on": "2027-02-01",
    "unit": "psi",
    "given": "error",
    "not_adjusted": True,
    "points": [
        {"moment": "as_found", "indication": at, "error": error, "expanded_uncertainty": "0.1", "coverage_factor": "2"}
        for at, error in (("0", "0"), ("30", "-0.2"), ("60", "-0.4"))
    ],
}
TRIP = {
    "truck": "114",
    "start": "2026-03-14T08:30:00+01:00",
    "duration_s": 5400,
    "distance_km": 92,
    "fuel_l": 31,
    "payload_t": 24.5,
}
# Operation -> an example of its body.
BODIES: dict[str, Any] = {
    "depots_create": {"code": "SALT", "name": "Saltmarsh", "time_zone": "Europe/London", "checks_per_day": 4},
    "depots_partial_update": {"checks_per_day": 6},
    "trucks_create": {"depot": 1, "unit_number": "114", "in_service_on": "2022-01-01", "description": "tanker"},
    "trucks_partial_update": {"retired_on": "2026-06-30", "reason": "sold"},
    "engines_create": {"depot": 1, "serial": "SK11-0442", "model": "Skerry 11", "layout": "single"},
    "engines_partial_update": {"layout": "twin"},
    "engines_install_create": {"truck": 114, "installed_on": "2022-01-01"},
    "engines_uninstall_create": {"removed_on": "2026-05-02"},
    "turbocharger_models_create": {"name": "Tern 40", "stimulus": "pneumatic"},
    "turbocharger_models_partial_update": {"note": "Two canisters are in use."},
    "turbochargers_create": {"depot": 1, "serial": "T40-00817", "model": 2, "received_on": "2025-11-03"},
    "turbochargers_partial_update": {"scrapped_on": "2026-04-01", "reason": "cracked housing"},
    "turbochargers_fit_create": {"engine": 7, "position": "single", "fitted_on": "2026-02-01", **METERS},
    "turbochargers_remove_create": {"removed_on": "2026-03-01", "reason": "oil at the seal", **METERS},
    "turbochargers_swap_create": {"on": 32, "swapped_on": "2026-03-01", "reason": "worn", **METERS},
    "meter_readings_create": {"truck": 114, "read_at": "2026-03-01T06:00:00Z", **METERS},
    "notes_create": {"turbocharger": 31, "text": "Lever freed with penetrating oil."},
    "complaints_create": {
        "truck": 114, "kind": "fuel_economy", "raised_on": "2026-03-01", "raised_by": "driver", "text": "Since Monday.",
    },
    "complaints_partial_update": {"kind": "smoke", "reason": "Misheard on the phone."},
    "complaints_close_create": {"finding": "Actuator set back into its window.", "check": 512},
    "specifications_create": SPECIFICATION,
    "instruments_create": INSTRUMENT,
    "instruments_certificates_create": CERTIFICATE,
    "fuel_prices_create": {
        "depot": "fleet", "valid_from": "2026-03-01", "price": _typed("1.52", "per litre"), "currency": "EUR",
    },
    "plans_move_create": {"day": "2026-03-12", "reason": "The truck is away until then."},
    "checks_create": CHECK,
    "trips_batches_create": {"source": "Device feed", "rows": [TRIP]},
    "reviews_create": {"month": "2026-10", "depot": None},
}  # fmt: skip
