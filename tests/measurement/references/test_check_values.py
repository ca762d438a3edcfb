"""Check values of the trade on one heavy engine: common practice, no source.

Setting pressure 31 psi, window 0.038 to 0.080 in, nominal 0.059 in, canister maximum 43 psi; a reading of 0.0595 in
is judged good.
"""

import pytest

from checks.measurement.assess import assess
from checks.measurement.specification import State
from checks.measurement.units import convert
from tests.measurement.making import (
    bent,
    dial,
    even_certificate,
    gauge,
    instruments,
    opening,
    rise,
    specification,
    stroke,
    transducer,
)


def kpa(psi: float) -> float:
    return convert(psi, "psi", "kPa")


def mm(inches: float) -> float:
    return convert(inches, "in", "mm")


SPEC = specification(
    setting=kpa(31.0), stimulus_max=kpa(43.0), capture_tolerance=kpa(0.31), zero_tolerance_stimulus=kpa(0.2),
    lower_mm=mm(0.038), nominal_mm=mm(0.059), upper_mm=mm(0.080),
)  # fmt: skip
PRESSURES = [kpa(p) for p in (15.0, 20.0, 23.0, 25.0, 27.0, 29.0)]
# A dial of 0.001 in, a test gauge of 0.25 % of 60 psi read to 0.2 psi.
DIAL = dial(division_mm=mm(0.001), certificate=even_certificate(mm(0.4), mm(0.0003)))
GAUGE = gauge(resolution=kpa(0.2), certificate=even_certificate(kpa(60.0), kpa(0.15)))
TOOLS = instruments(GAUGE, DIAL)


def made(reading_in: float):
    curve = bent(mm(reading_in), 1.4, kpa(20.0), kpa(31.0))
    return stroke(*opening(), *rise(curve, PRESSURES, kpa(31.0)))


def test_a_reading_of_0_0595_in_is_inside_and_near_nominal():
    result = assess(made(0.0595), SPEC, TOOLS)
    assert (result.state, result.voids) == (State.INSIDE, ())
    assert result.p_inside > 0.999
    assert convert(result.travel_mm, "mm", "in") == pytest.approx(0.0595, abs=1e-4)
    assert abs(result.travel_mm - SPEC.nominal_mm) < result.expanded_uncertainty_mm
    assert result.advice.refusal_code == "inside"


@pytest.mark.parametrize(
    ("inches", "state"),
    [
        (0.030, State.OUTSIDE_LOW),
        (0.038, State.UNDECIDED),
        (0.046, State.INSIDE),
        (0.072, State.INSIDE),
        (0.080, State.UNDECIDED),
        (0.090, State.OUTSIDE_HIGH),
    ],
)
def test_states_across_the_window(inches, state):
    assert assess(made(inches), SPEC, TOOLS).state is state


def test_a_reading_exactly_on_a_limit_is_as_likely_in_as_out():
    assert assess(made(0.080), SPEC, TOOLS).p_inside == pytest.approx(0.5, abs=0.06)


def test_a_short_rod_is_lengthened_towards_nominal():
    """0.030 in is 0.74 mm short of nominal; M6 has a pitch of 1 mm, so one or two half turns out."""
    advice = assess(made(0.030), SPEC, TOOLS).advice
    assert advice.half_turns == 1
    assert abs(advice.predicted_mm - SPEC.nominal_mm) < 0.25


def test_the_same_check_on_a_transducer_agrees():
    """0.25 mV per kPa and 1 mV at zero: the same physical stroke, read electrically."""
    millivolts = [
        type(r)(phase=r.phase, stimulus=0.25 * r.stimulus + 1.0, travel_mm=r.travel_mm) for r in made(0.0595).readings
    ]
    electric = assess(stroke(*millivolts), SPEC, instruments(transducer(), DIAL))
    plain = assess(made(0.0595), SPEC, TOOLS)
    assert electric.travel_mm == pytest.approx(plain.travel_mm, abs=1e-9)
    assert electric.state is State.INSIDE
