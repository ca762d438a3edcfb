"""The simulated two years, and the core's verdict on a simulated stroke, without a database."""

from collections.abc import Callable
from copy import copy
from datetime import date, timedelta

import pytest

from checks.measurement import calibration, stroke
from checks.measurement.assess import assess_many
from checks.measurement.result import Assessment
from checks.measurement.specification import Specification, Stimulus
from checks.measurement.workings import Case
from fleet.management.demo.events import History, MadeCheck
from fleet.management.demo.fleet import sheet_of, specification_on
from fleet.management.demo.history import simulate
from fleet.management.demo.instruments import Instrument, certificates
from fleet.management.demo.streams import SEED
from fleet.management.demo.strokes import Sheet, TypedReading

MONDAY = date(2026, 3, 2)


def on(day: int) -> date:
    return MONDAY + timedelta(days=day)


def certificate(tool: Instrument, day: int) -> calibration.Certificate | None:
    known = [c for c in certificates(tool, SEED) if c.issued_day <= day]
    if not known:
        return None
    points = tuple(
        calibration.CertificatePoint(
            indication=tool.to_base(p.indication),
            error=tool.to_base(p.error),
            expanded_uncertainty=tool.to_base(tool.expanded),
        )
        for p in known[-1].points
        if p.moment == "as_left"
    )
    return calibration.Certificate(
        number=known[-1].number, issued=on(known[-1].issued_day), due=on(known[-1].due_day), points=points
    )


def dial_of(tool: Instrument, day: int) -> calibration.DialIndicator:
    return calibration.DialIndicator(
        identity=tool.label,
        division_mm=tool.to_base(tool.division),
        range_mm=tool.to_base(tool.high),
        permissible_error_mm=tool.to_base(tool.permissible),
        read_to=tool.read_to,
        certificate=certificate(tool, day),
    )


def stimulus_of(tool: Instrument, meter: Instrument | None, day: int) -> calibration.StimulusInstrument:
    electrical, read_by = tool.electrical, None
    if meter is not None:
        read_by = calibration.Meter(
            identity=meter.label,
            electrical_unit=meter.unit,
            resolution=meter.division,
            error_share=meter.share,
            error_fixed=meter.permissible,
            certificate=certificate(meter, day),
        )
    return calibration.StimulusInstrument(
        identity=tool.label,
        kind=calibration.StimulusKind(tool.kind),
        resolution=meter.division if meter else tool.to_base(tool.division),
        range_low=0.0,
        range_high=tool.to_base(tool.high),
        permissible_error=tool.to_base(tool.permissible),
        read_to=tool.read_to,
        certificate=certificate(tool, day),
        sensitivity=electrical.sensitivity if electrical else None,
        offset=electrical.offset if electrical else 0.0,
        meter=read_by,
    )


def specification_of(sheet: Sheet, stimulus: str) -> Specification:
    return Specification(
        stimulus=Stimulus(stimulus),
        setting=sheet.setting,
        lower_mm=sheet.lower_mm,
        nominal_mm=sheet.nominal_mm,
        upper_mm=sheet.upper_mm,
        stimulus_max=sheet.stimulus_max,
        exercise_cycles=sheet.exercise_cycles,
        capture_tolerance=sheet.capture_tolerance,
        zero_tolerance_stimulus=sheet.zero_tolerance_stimulus,
        zero_tolerance_mm=sheet.zero_tolerance_mm,
        thread_pitch_mm=sheet.thread_pitch_mm,
        adjustment_sign=1,
        adjustment_range_half_turns=6,
    )


def stroke_of(readings: list[TypedReading], tool: Instrument, dial: Instrument, day: int) -> stroke.Stroke:
    def stimulus(text: str) -> float:
        return float(text) if tool.kind == "transducer" else tool.to_base(float(text))

    return stroke.Stroke(
        made_on=on(day),
        readings=tuple(
            stroke.Reading(
                phase=stroke.Phase(r.phase),
                stimulus=stimulus(r.stimulus),
                travel_mm=None if r.travel is None else dial.to_base(float(r.travel)),
                seconds=None if r.seconds is None else float(r.seconds),
            )
            for r in readings
        ),
    )


def case_of(check: MadeCheck, readings: list[TypedReading]) -> Case:
    sheet, kit = sheet_of(specification_on(check.model, check.day)), check.kit
    return Case(
        stroke=stroke_of(readings, kit.stimulus, kit.dial, check.day),
        specification=specification_of(sheet, check.model.stimulus),
        instruments=calibration.InstrumentSet(
            dial=dial_of(kit.dial, check.day), stimulus=stimulus_of(kit.stimulus, kit.meter, check.day)
        ),
    )


@pytest.fixture(scope="session")
def history() -> History:
    return simulate()


@pytest.fixture(scope="session")
def verdicts(history: History) -> dict[str, Assessment]:
    """The as-found verdict of every check, by its key."""
    results = assess_many([case_of(check, check.as_found) for check in history.checks])
    return {str(check.key): result for check, result in zip(history.checks, results, strict=True)}


@pytest.fixture(scope="session")
def found_errors(history: History, verdicts: dict[str, Assessment]) -> Callable[..., list[float]]:
    """Return a function that gives measured minus true travel (mm) of the checks that a condition picks."""

    def errors(picks: Callable[[MadeCheck], bool]) -> list[float]:
        pairs = [(verdicts[str(check.key)].travel_mm, check) for check in history.checks if not check.flaw]
        return [travel - check.true_mm for travel, check in pairs if travel is not None and picks(check)]

    return errors


@pytest.fixture(scope="session")
def short(history: History) -> History:
    """The same fleet with few checks, every kind of flaw and some adjustments among them: quick to load."""
    shortened = copy(history)
    chosen = [check for check in history.checks if check.flaw][-8:]
    chosen += [check for check in history.checks if check.half_turns][-3:] + history.checks[-3:]
    shortened.checks = list({check.key: check for check in chosen}.values())
    return shortened
