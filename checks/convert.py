"""The only bridge between model rows and the measurement core: rows to frozen dataclasses, results to JSON and back."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, fields
from datetime import date
from typing import Any

from checks import models
from checks.measurement import calibration, result, specification, stroke
from checks.measurement.telling import Value

# Rises with every change of the core that can change a number; kept with each assessment.
CODE_VERSION = "3"


def to_specification(row: models.SpecificationRevision) -> specification.Specification:
    """Return a revision as the core reads it; needs ``turbocharger_model`` at hand."""
    return specification.Specification(
        stimulus=specification.Stimulus(row.turbocharger_model.stimulus),
        setting=row.setting,
        lower_mm=row.lower_mm,
        nominal_mm=row.nominal_mm,
        upper_mm=row.upper_mm,
        stimulus_max=row.stimulus_max,
        exercise_cycles=row.exercise_cycles,
        capture_tolerance=row.capture_tolerance,
        zero_tolerance_stimulus=row.zero_tolerance_stimulus,
        zero_tolerance_mm=row.zero_tolerance_mm,
        thread_pitch_mm=row.thread_pitch_mm,
        adjustment_sign=row.adjustment_sign,
        adjustment_range_half_turns=row.adjustment_range_half_turns,
    )


def to_policy(row: models.Policy) -> specification.Policy:
    """Return the fleet's policy as the core reads it."""
    return specification.Policy(inside_level=row.inside_level)


def to_study_figures(row: models.Publication) -> stroke.StudyFigures:
    """Return a publication as the core reads it; needs ``study`` at hand."""
    return stroke.StudyFigures(
        repeatability_mm=row.repeatability_mm,
        repeatability_dof=row.repeatability_dof,
        reproducibility_mm=row.reproducibility_mm,
        reproducibility_dof=row.reproducibility_dof,
        name=row.study.name,
    )


def certificate_on(rows: Iterable[models.Certificate], on: date) -> models.Certificate | None:
    """The certificate that counts on the day ``on``: the last issued by then that was not entered in error.

    It may have run out by then; the core says so, since that voids a check and does not forbid it.
    """
    issued = [row for row in rows if row.issued_on <= on and not row.superseded_reason]
    return max(issued, key=lambda row: (row.issued_on, row.pk), default=None)


def to_certificate(row: models.Certificate) -> calibration.Certificate:
    """Return a certificate with its as-left points, or as-found ones where nothing was adjusted."""
    points = list(row.points.all())
    moment = models.CertificatePoint.Moment
    left = [point for point in points if point.moment == moment.AS_LEFT]
    return calibration.Certificate(
        number=row.number, issued=row.issued_on, due=row.due_on, points=to_points(left or points)
    )


def to_points(rows: Iterable[models.CertificatePoint]) -> tuple[calibration.CertificatePoint, ...]:
    """Return points of a certificate as the core reads them, in rising order of indication."""
    return tuple(
        calibration.CertificatePoint(
            indication=row.indication,
            error=row.error,
            expanded_uncertainty=row.expanded_uncertainty,
            coverage_factor=row.coverage_factor,
        )
        for row in sorted(rows, key=lambda row: row.indication)
    )


def to_instruments(
    *,
    dial: models.Instrument,
    stimulus: models.Instrument,
    meter: models.Instrument | None,
    alignment: calibration.Alignment,
    on: date,
) -> calibration.InstrumentSet:
    """Return what a check was made with, each with the certificate that counts on the day ``on``.

    Reads ``certificates`` and their ``points`` of each instrument: prefetch them.
    """
    return calibration.InstrumentSet(dial=_dial(dial, on), stimulus=_stimulus(stimulus, meter, on), alignment=alignment)


def certificates_used(instruments: Iterable[models.Instrument | None], on: date) -> list[int]:
    """Primary keys of the certificates relied upon on the day ``on``."""
    found = (certificate_on(row.certificates.all(), on) for row in instruments if row is not None)
    return [row.pk for row in found if row is not None]


def to_alignment(*, geometry: str, angle_deg: float | None, angle_max_deg: float) -> calibration.Alignment:
    """Return the dial's set-up."""
    return calibration.Alignment(
        geometry=calibration.Geometry(geometry), angle_deg=angle_deg, angle_max_deg=angle_max_deg
    )


def to_stroke(rows: Iterable[models.Reading], made_on: date) -> stroke.Stroke:
    """Return readings in their order as the core reads them."""
    return stroke.Stroke(
        made_on=made_on,
        readings=tuple(
            stroke.Reading(
                phase=stroke.Phase(row.phase), stimulus=row.stimulus, travel_mm=row.travel_mm, seconds=row.seconds
            )
            for row in sorted(rows, key=lambda row: row.order)
        ),
    )


def result_to_json(assessment: result.Assessment) -> dict[str, Any]:
    """Return a result as JSON can hold it; infinite degrees of freedom become null."""
    plain: dict[str, Any] = jsonable(asdict(assessment))
    return plain


def result_from_json(stored: dict[str, Any]) -> result.Assessment:
    """Return the result that ``result_to_json`` stored, equal to the original."""
    features = {name: _estimate(value) for name, value in stored["features"].items() if name != "points"}
    points = tuple((str(phase), float(p), float(x)) for phase, p, x in stored["features"]["points"])
    rebuilt: dict[str, Any] = dict(stored) | {
        "state": specification.State(stored["state"]),
        "interval_mm": tuple(stored["interval_mm"]) if stored["interval_mm"] is not None else None,
        "effective_dof": _dof(stored["effective_dof"]) if stored["travel_mm"] is not None else None,
        "budget": tuple(result.BudgetLine(**line | {"dof": _dof(line["dof"])}) for line in stored["budget"]),
        "voids": tuple(_void(void) for void in stored["voids"]),
        "features": result.CurveFeatures(**features, points=points),
        "acceptance": _acceptance(stored["acceptance"]),
        "advice": result.Advice(**stored["advice"]),
        "warnings": tuple(stored["warnings"]),
    }
    known = {field.name for field in fields(result.Assessment)}
    return result.Assessment(**{name: value for name, value in rebuilt.items() if name in known})


def result_columns(assessment: result.Assessment) -> dict[str, Any]:
    """Return the columns of an Assessment row that repeat its result for sorting and filtering."""
    return {
        "state": assessment.state.value,
        "travel_mm": assessment.travel_mm,
        "standard_uncertainty_mm": assessment.standard_uncertainty_mm,
        "expanded_uncertainty_mm": assessment.expanded_uncertainty_mm,
        "p_inside": assessment.p_inside,
        "result": result_to_json(assessment),
        "code_version": CODE_VERSION,
    }


def jsonable(value: Any) -> Any:
    """Return a value as JSON can hold it, which has neither infinity nor nan: what is beyond telling becomes null."""
    if isinstance(value, dict):
        return {key: jsonable(item) for key, item in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [jsonable(item) for item in value]
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return value


def _dial(row: models.Instrument, on: date) -> calibration.DialIndicator:
    low, high = row.range_low or 0.0, row.range_high or 0.0
    return calibration.DialIndicator(
        identity=row.label,
        division_mm=row.division or 0.0,
        range_mm=high - low,
        permissible_error_mm=row.permissible_error or 0.0,
        read_to=row.read_to,
        certificate=_certificate(row, on),
    )


def _stimulus(row: models.Instrument, meter: models.Instrument | None, on: date) -> calibration.StimulusInstrument:
    electrical = row.kind == models.Instrument.Kind.TRANSDUCER and meter is not None
    return calibration.StimulusInstrument(
        identity=row.label,
        kind=calibration.StimulusKind(row.kind),
        # A transducer has no digits of its own: it is read to those of its meter.
        resolution=(meter.division if electrical and meter else row.division) or 0.0,
        range_low=row.range_low or 0.0,
        range_high=row.range_high or 0.0,
        permissible_error=row.permissible_error or 0.0,
        read_to=meter.read_to if electrical and meter else row.read_to,
        certificate=_certificate(row, on),
        sensitivity=row.sensitivity,
        offset=row.offset,
        meter=_meter(meter, on) if electrical and meter else None,
    )


def _meter(row: models.Instrument, on: date) -> calibration.Meter:
    return calibration.Meter(
        identity=row.label,
        electrical_unit=row.electrical_unit,
        resolution=row.division or 0.0,
        error_share=row.error_share,
        error_fixed=row.permissible_error or 0.0,
        certificate=_certificate(row, on),
    )


def _certificate(row: models.Instrument, on: date) -> calibration.Certificate | None:
    counts = certificate_on(row.certificates.all(), on)
    return to_certificate(counts) if counts else None


def _void(stored: dict[str, Any]) -> result.Void:
    return result.Void(**stored | {"values": tuple(Value(**value) for value in stored.get("values", ()))})


def _estimate(stored: dict[str, float] | None) -> result.Estimate | None:
    return result.Estimate(**stored) if stored else None


def _dof(stored: float | None) -> float:
    return math.inf if stored is None else stored


def _acceptance(stored: dict[str, Any] | None) -> result.Acceptance | None:
    return result.Acceptance(**stored | {"problems": tuple(stored["problems"])}) if stored else None
