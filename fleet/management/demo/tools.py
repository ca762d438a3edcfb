"""Loads specifications, instruments with their certificates, and the policy, as a manager would type them."""

from typing import Any

from checks.models import Instrument as InstrumentRow
from checks.models import SpecificationRevision
from checks.services.certificate import add_certificate
from checks.services.instrument import add_instrument
from checks.services.policy import change_policy
from checks.services.specification import add_specification
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import MODELS, SpecificationSheet
from fleet.management.demo.instruments import Certificate, Instrument, certificates
from fleet.management.demo.register import Rows
from fleet.management.demo.toolroom import INSTRUMENTS, LABORATORY
from fleet.management.demo.words import POLICY_REASON

# Marram looks more often than the register proposes.
POLICY = {
    "inside_level": ["95", "%"], "first_look_km": ["45000", "km"], "usage_max_km": ["45000", "km"],
    "after_adjustment_km": ["22000", "km"], "fallback_km_per_day": ["300", "km"], "first_look_days": "120",
    "calendar_max_days": "120", "after_adjustment_days": "60", "undecided_days": "14", "void_days": "7",
    "outside_days": "5", "complaint_days": "10", "reason": POLICY_REASON,
}  # fmt: skip


def load_policy(rows: Rows) -> None:
    change_policy(author=rows.manager, entry=POLICY)


def load_specifications(rows: Rows, calendar: Calendar) -> dict[tuple[str, str], SpecificationRevision]:
    """Every revision, by model code and name of the revision."""
    return {
        (model.code, sheet.revision): add_specification(
            author=rows.manager, turbocharger_model=rows.models[model.code], entry=_specification(sheet, calendar)
        )
        for model in MODELS
        for sheet in model.specifications
    }


def _specification(sheet: SpecificationSheet, calendar: Calendar) -> dict[str, Any]:
    stimulus, length = sheet.stimulus_unit, sheet.length_unit
    return {
        "revision": sheet.revision, "source_document": sheet.document, "source_revision": sheet.revision,
        "effective_from": calendar.on(sheet.effective_day).isoformat(), "note": sheet.note,
        "setting": [sheet.setting, stimulus], "stimulus_max": [sheet.maximum, stimulus],
        "capture_tolerance": [sheet.capture, stimulus], "zero_tolerance_stimulus": [sheet.zero_stimulus, stimulus],
        "exercise_cycles": "3", "lower_mm": [sheet.lower, length], "nominal_mm": [sheet.nominal, length],
        "upper_mm": [sheet.upper, length], "zero_tolerance_mm": [sheet.zero_travel, length],
        "thread_pitch_mm": list(sheet.thread), "adjustment_sign": "1", "adjustment_range_half_turns": "6",
        "confirmed": True,
    }  # fmt: skip


def load_instruments(rows: Rows, calendar: Calendar, seed: int) -> dict[str, InstrumentRow]:
    """Every instrument of the depots, by label."""
    return {sheet.label: load_instrument(rows, sheet, calendar, seed) for sheet in INSTRUMENTS}


def load_instrument(rows: Rows, sheet: Instrument, calendar: Calendar, seed: int) -> InstrumentRow:
    """One instrument with its certificates."""
    entry = _instrument(sheet) | {"depot": str(rows.depots[sheet.depot].pk)}
    row = add_instrument(author=rows.manager, kind=sheet.kind, entry=entry)
    for certificate in certificates(sheet, seed):
        add_certificate(author=rows.manager, instrument=row, entry=_certificate(sheet, certificate, calendar))
    return row


def _instrument(sheet: Instrument) -> dict[str, Any]:
    unit = sheet.unit

    def typed(value: float) -> list[str]:
        return [f"{value:g}", unit]

    entry: dict[str, Any] = {
        "label": sheet.label, "description": sheet.description, "range_low": typed(0.0),
        "range_high": typed(sheet.high), "division": typed(sheet.division), "read_to": f"{sheet.read_to:g}",
        "permissible_error": typed(sheet.permissible), "electrical_unit": unit,
        "error_share": [f"{100 * sheet.share:g}", "% of reading"],
    }  # fmt: skip
    if sheet.kind == "transducer" and sheet.electrical:
        entry["sensitivity"] = [f"{sheet.electrical.sensitivity:g}", f"{sheet.electrical.unit}/kPa"]
        entry["offset"] = [f"{sheet.electrical.offset:g}", sheet.electrical.unit]
    return entry


def _certificate(sheet: Instrument, certificate: Certificate, calendar: Calendar) -> dict[str, Any]:
    points = [
        {
            "moment": point.moment, "indication": f"{point.indication:g}", "error": f"{point.error:.6f}",
            "expanded_uncertainty": f"{sheet.expanded:g}", "coverage_factor": "2",
        }
        for point in certificate.points
    ]  # fmt: skip
    return {
        "number": certificate.number, "laboratory": LABORATORY, "unit": sheet.unit, "points": points,
        "issued_on": calendar.on(certificate.issued_day).isoformat(),
        "due_on": calendar.on(certificate.due_day).isoformat(), "confirmed": True,
    }  # fmt: skip
