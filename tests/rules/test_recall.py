"""What a certificate would have said; and against known truth, how near the two verdicts come.

Whole error and even growth are common practice, no source. Expected errors are worked by hand from the points.
"""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.measurement.assess import assess_many
from checks.measurement.calibration import (
    Alignment,
    Certificate,
    CertificatePoint,
    DialIndicator,
    InstrumentSet,
    StimulusInstrument,
    StimulusKind,
)
from checks.measurement.specification import Specification, Stimulus
from checks.measurement.stroke import Phase, Reading, Stroke
from checks.measurement.workings import Case
from checks.rules.recall import Part, grown_share, suspected, with_error_found, worst_of

GOOD_ON, FOUND_ON = date(2024, 1, 1), date(2024, 12, 31)


def points(*pairs: tuple[float, float], uncertainty: float = 0.5) -> tuple[CertificatePoint, ...]:
    return tuple(CertificatePoint(indication=at, error=error, expanded_uncertainty=uncertainty) for at, error in pairs)


def certificate(*pairs: tuple[float, float], **changes) -> Certificate:
    return Certificate(number="G", issued=GOOD_ON, due=date(2025, 1, 5), points=points(*pairs, **changes))


def test_the_share_grows_evenly_from_none_to_all():
    days = [GOOD_ON, date(2024, 7, 1), FOUND_ON, date(2025, 3, 1), date(2023, 1, 1)]
    shares = [grown_share(GOOD_ON, FOUND_ON, day) for day in days]
    assert shares == [0.0, pytest.approx(182 / 365), 1.0, 1.0, 0.0]
    assert grown_share(None, FOUND_ON, GOOD_ON) == 1.0
    assert grown_share(FOUND_ON, FOUND_ON, GOOD_ON) == 1.0


def test_the_worst_point_is_the_farthest_beyond_what_is_permissible_there():
    found = points((100.0, 3.0), (200.0, -5.0), (400.0, 6.0))
    assert worst_of(found, [2.0, 2.0, 4.0]) == found[1]
    assert worst_of(found, [3.0, 5.0, 6.0]) is None  # an error equal to the limit is within it
    assert worst_of(found, [0.0, 0.0, 0.0]) is None  # nothing is asked of a regulator
    assert worst_of((), []) is None


def test_with_the_whole_error_the_found_points_hold_and_with_none_the_relied_ones():
    relied, found = certificate((0.0, 0.0), (100.0, 1.0), (200.0, 2.0)), points((0.0, 0.0), (100.0, 9.0), (200.0, 18.0))
    whole = suspected(relied, found, 1.0)
    assert [(p.indication, p.error) for p in whole.points] == [(0.0, 0.0), (100.0, 9.0), (200.0, 18.0)]
    assert [p.error for p in suspected(relied, found, 0.0).points] == [0.0, 1.0, 2.0]
    assert [p.error for p in suspected(relied, found, 0.5).points] == [0.0, 5.0, 10.0]
    assert (whole.number, whole.issued, whole.due) == (relied.number, relied.issued, relied.due)


def test_between_points_of_one_the_other_is_read_along_its_curve_and_beyond_its_ends_held():
    relied, found = certificate((0.0, 0.0), (100.0, 1.0), (400.0, 4.0)), points((50.0, 5.5), (200.0, 22.0))
    moved = {p.indication: p.error for p in suspected(relied, found, 1.0).points}
    # relied is a straight 1 % and found a straight 11 %: 5 beyond it at 50 and below, 20 at 200 and above.
    assert moved == pytest.approx({0.0: 5.0, 50.0: 5.5, 100.0: 11.0, 200.0: 22.0, 400.0: 24.0})


def test_the_uncertainty_goes_over_from_the_one_certificate_to_the_other():
    relied, found = (
        certificate((0.0, 0.0), (100.0, 0.0), uncertainty=0.4),
        points((0.0, 1.0), (100.0, 1.0), uncertainty=1.2),
    )
    assert [p.expanded_uncertainty for p in suspected(relied, found, 0.25).points] == pytest.approx([0.6, 0.6])


@given(st.floats(0.0, 1.0), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2))
def test_straight_errors_mix_in_proportion_everywhere(share, known, later):
    relied = certificate(*((at, known * at) for at in (0.0, 100.0, 200.0)))
    found = points(*((at, later * at) for at in (0.0, 50.0, 200.0)))
    for point in suspected(relied, found, share).points:
        assert point.error == pytest.approx((known + share * (later - known)) * point.indication, abs=1e-9)


def test_an_instrument_without_a_certificate_stays_without():
    kit = replace(KIT, dial=replace(KIT.dial, certificate=None))
    assert with_error_found(kit, Part.DIAL, points((0.0, 0.1)), 1.0) == kit
    assert with_error_found(KIT, Part.METER, points((0.0, 0.1)), 1.0) == KIT


DIAL = certificate(*((at, 0.0) for at in (0.0, 1.0, 2.0, 4.0, 8.0)), uncertainty=0.004)
KIT = InstrumentSet(
    dial=DialIndicator(
        identity="D", division_mm=0.01, range_mm=10.0, permissible_error_mm=0.02, certificate=DIAL
    ),
    stimulus=StimulusInstrument(
        identity="G", kind=StimulusKind.GAUGE, resolution=1.0, range_low=0.0, range_high=400.0, permissible_error=3.0,
        certificate=certificate(*((at, 0.0) for at in (0.0, 100.0, 200.0, 400.0))),
    ),
    alignment=Alignment(angle_deg=0.0),
)  # fmt: skip
LIMITS = Specification(
    stimulus=Stimulus.PNEUMATIC, setting=200.0, lower_mm=1.0, nominal_mm=1.5, upper_mm=2.0, stimulus_max=300.0,
    exercise_cycles=1, capture_tolerance=2.0, zero_tolerance_stimulus=2.0, zero_tolerance_mm=0.05,
    thread_pitch_mm=1.0, adjustment_sign=1, adjustment_range_half_turns=6,
)  # fmt: skip
SLOPE = 0.01  # mm per kPa
DRIFT = 0.20  # share of the reading by which the dial reads high when it comes back


def stroke(truth: float, share: float, on: date) -> Stroke:
    """A stroke of known truth, read on a dial whose error had grown to ``share``, to half a division."""

    def read(phase: Phase, pressure: float) -> Reading:
        travel = max(0.0, truth + SLOPE * (pressure - LIMITS.setting)) if pressure else 0.0
        indicated = travel / (1.0 - share * DRIFT)  # its error is a share of what it indicates
        return Reading(phase=phase, stimulus=pressure, travel_mm=round(indicated / 0.005) * 0.005)

    return Stroke(
        made_on=on,
        readings=(
            read(Phase.ZERO, 0.0),
            Reading(phase=Phase.EXERCISE, stimulus=210.0),
            read(Phase.ZERO_RETURN, 0.0),
            *(read(Phase.RISE, pressure) for pressure in (150.0, 165.0, 180.0, 190.0, 196.0)),
            read(Phase.SETTING, 200.0),
        ),
    )


def state_of(truth: float) -> str:
    return "outside_low" if truth < LIMITS.lower_mm else "outside_high" if truth > LIMITS.upper_mm else "inside"


def simulated(growth) -> dict[str, tuple[float, float]]:
    """Of 240 checks over the year: mean error in mm and share of clearly wrong verdicts, by how they were judged."""
    random = np.random.default_rng(11)
    found = points(*((at, DRIFT * at) for at in (0.0, 1.0, 2.0, 4.0, 8.0)), uncertainty=0.004)
    cases: dict[str, list[Case]] = {"recorded": [], "full": [], "grown": []}
    truths = []
    for _ in range(240):
        day = GOOD_ON + timedelta(days=int(random.integers(0, 365)))
        even, truth = grown_share(GOOD_ON, FOUND_ON, day), float(random.uniform(0.7, 2.3))
        made = stroke(truth, growth(even), day)
        truths.append(truth)
        for name, share in (("recorded", 0.0), ("full", 1.0), ("grown", even)):
            kit = with_error_found(KIT, Part.DIAL, found, share)
            cases[name].append(Case(stroke=made, specification=LIMITS, instruments=kit))
    told = {}
    for name, of in cases.items():
        results = assess_many(of)
        assert all(result.travel_mm is not None for result in results)
        errors = [abs(result.travel_mm - truth) for result, truth in zip(results, truths, strict=True)]
        wrong = [
            result.state not in {"undecided", state_of(truth)} for result, truth in zip(results, truths, strict=True)
        ]
        told[name] = (float(np.mean(errors)), float(np.mean(wrong)))
    return told


def test_after_an_even_drift_the_grown_error_finds_the_truth_and_the_others_do_not():
    told = simulated(lambda even: even)
    error, wrong = told["grown"]
    assert error < 0.01  # a division of the dial
    assert wrong <= 0.05  # what the level asked for 'inside' allows
    assert told["recorded"][0] > 10 * error
    assert told["full"][0] > 10 * error
    assert told["recorded"][1] > wrong
    assert told["full"][1] > wrong


def test_after_a_blow_on_the_first_day_the_whole_error_finds_the_truth():
    told = simulated(lambda even: 1.0)
    assert told["full"][0] < 0.01
    assert told["full"][1] <= 0.05
    assert told["grown"][0] > 10 * told["full"][0]


def test_the_truth_of_any_even_growth_lies_between_the_recorded_and_the_whole_error():
    for even in (0.2, 0.5, 0.9):
        on = GOOD_ON + timedelta(days=round(365 * even))
        made = stroke(1.6, even, on)
        found = points(*((at, DRIFT * at) for at in (0.0, 2.0, 8.0)), uncertainty=0.004)
        low, high = (
            assess_many([Case(made, LIMITS, with_error_found(KIT, Part.DIAL, found, share))])[0].travel_mm
            for share in (1.0, 0.0)
        )
        assert low < 1.6 < high
