"""What must hold for any stroke."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from checks.measurement.assess import assess, assess_many
from checks.measurement.conformity import judge, probabilities
from checks.measurement.specification import State
from checks.measurement.stroke import Phase, PooledSlope, Reading
from checks.measurement.workings import Case
from tests.measurement.making import (
    bent,
    dial,
    even_certificate,
    gauge,
    good_stroke,
    instruments,
    opening,
    reading_only,
    specification,
    stroke,
)

ORDER = [State.OUTSIDE_LOW, State.UNDECIDED, State.INSIDE]
SLOPE = PooledSlope(slope=0.025, spread=0.003, count=20)


@st.composite
def tools(draw):
    pressure = draw(st.floats(0.2, 6.0))
    travel = draw(st.floats(0.004, 0.1))
    return instruments(
        gauge(certificate=even_certificate(400.0, pressure)), dial(certificate=even_certificate(10.0, travel))
    )


@st.composite
def curves(draw):
    return bent(draw(st.floats(0.3, 2.6)), draw(st.floats(1.0, 2.2)), draw(st.floats(125.0, 172.0)))


@given(tools(), st.floats(0.0, 3.0), st.floats(0.001, 0.5))
def test_more_travel_is_never_less_likely_to_be_above_or_more_likely_to_be_below(made, travel, more):
    one, two = (assess(reading_only(x), specification(), made, model_slope=SLOPE) for x in (travel, travel + more))
    assert two.p_above >= one.p_above - 1e-12
    assert two.p_below <= one.p_below + 1e-12


@given(tools(), st.floats(0.1, 1.5), st.floats(0.0, 1.0))
def test_below_the_middle_more_travel_is_more_likely_inside(made, travel, share):
    nearer = travel + share * (1.5 - travel)
    one, two = (assess(reading_only(x), specification(), made, model_slope=SLOPE) for x in (travel, nearer))
    assume(one.method == two.method)
    assert two.p_inside >= one.p_inside - 2e-6
    assert ORDER.index(two.state) >= ORDER.index(one.state)


@given(st.floats(-1.0, 4.0), st.floats(0.0, 2.0), st.floats(0.0, 2.0), st.sampled_from([0.8, 0.95, 0.99]))
def test_more_uncertainty_never_turns_undecided_into_inside(travel, u, more, level):
    before = judge(*probabilities(travel, u, 1.0, 2.0), level)
    after = judge(*probabilities(travel, u + more, 1.0, 2.0), level)
    if after is State.INSIDE:
        assert before is State.INSIDE


@given(curves(), st.floats(0.2, 3.0), st.floats(1.0, 4.0))
@settings(max_examples=200)
def test_a_worse_instrument_never_proves_what_a_better_one_could_not(curve, pressure, factor):
    """Across the switch to propagated distributions the probability may step by up to 0.01, no more."""

    def judged(expanded):
        tool = instruments(gauge(certificate=even_certificate(400.0, expanded)))
        return assess(good_stroke(curve), specification(), tool)

    better, worse = judged(pressure), judged(pressure * factor)
    if worse.state is State.INSIDE:
        assert better.p_inside >= 0.95 - 0.01
    if better.method == worse.method == "first_order" and worse.state is State.INSIDE:
        assert better.state is State.INSIDE


READINGS = st.builds(
    Reading,
    phase=st.sampled_from(list(Phase)),
    stimulus=st.one_of(st.floats(0.0, 320.0), st.sampled_from([0.0, 199.0, 200.0, 201.0])),
    travel_mm=st.floats(0.0, 3.0),
    seconds=st.floats(0.0, 300.0),
)


@given(st.lists(READINGS, max_size=14), st.booleans())
@settings(max_examples=400)
def test_a_void_stroke_never_yields_a_state_and_a_sound_one_always_does(readings, opened):
    made = stroke(*opening(), *readings) if opened else stroke(*readings)
    result = assess(made, specification(), instruments())
    assert (result.state is State.VOID) == bool(result.voids)
    if result.voids:
        assert (result.p_inside, result.p_below, result.p_above, result.advice.half_turns) == (None,) * 4
    else:
        assert result.p_inside + result.p_below + result.p_above == pytest.approx(1.0)
        assert result.interval_mm[0] <= result.travel_mm <= result.interval_mm[1]


@given(st.lists(st.tuples(curves(), tools(), st.floats(-0.02, 0.02)), min_size=1, max_size=12))
@settings(max_examples=60)
def test_many_strokes_in_one_call_are_judged_as_one_by_one(rows):
    cases = [Case(good_stroke(curve, back_mm=back), specification(), tool) for curve, tool, back in rows]
    assert assess_many(cases) == [assess(case.stroke, case.specification, case.instruments) for case in cases]


@given(curves(), st.floats(0.0, 5.0), st.floats(0.0, 0.5))
def test_a_common_offset_of_either_instrument_changes_nothing(curve, pressure, travel):
    plain = assess(good_stroke(curve), specification(), instruments())
    moved = [
        replace(r, stimulus=r.stimulus + pressure, travel_mm=None if r.travel_mm is None else r.travel_mm + travel)
        for r in good_stroke(curve).readings
    ]
    other = assess(stroke(*moved), specification(), instruments())
    assume(not other.voids)  # at a range's end an offset may carry a reading beyond it
    assert other.travel_mm == pytest.approx(plain.travel_mm, abs=1e-9)
    assert other.p_inside == pytest.approx(plain.p_inside, abs=1e-9)
