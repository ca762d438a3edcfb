"""Units in are units out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.measurement.assess import assess
from checks.measurement.units import QUANTITIES, convert
from tests.measurement.making import bent, good_stroke, instruments, specification

PAIRS = [(a, b) for units in QUANTITIES.values() for a in units for b in units]


@given(value=st.floats(-1e6, 1e6), pair=st.sampled_from(PAIRS))
def test_there_and_back_costs_no_more_than_rounding(value, pair):
    assert convert(convert(value, *pair), *reversed(pair)) == pytest.approx(value, rel=1e-15, abs=1e-300)


@given(value=st.floats(0.0, 1e6), more=st.floats(0.1, 1e3), pair=st.sampled_from(PAIRS))
def test_conversion_keeps_the_order(value, more, pair):
    assert convert(value, *pair) < convert(value + more, *pair)


@given(value=st.floats(0.1, 1e4))
def test_a_detour_through_a_third_unit_changes_nothing(value):
    assert convert(convert(value, "psi", "bar"), "bar", "kPa") == pytest.approx(convert(value, "psi", "kPa"), rel=1e-15)


@given(thou=st.floats(45.0, 75.0))
def test_a_travel_typed_in_thou_is_judged_as_the_same_travel_in_millimetres(thou):
    millimetres = convert(thou, "thou", "mm")
    inches = convert(convert(millimetres, "mm", "in"), "in", "mm")
    one = assess(good_stroke(bent(millimetres)), specification(), instruments())
    other = assess(good_stroke(bent(inches)), specification(), instruments())
    assert one.travel_mm == pytest.approx(other.travel_mm, rel=1e-13)
    assert one.p_inside == pytest.approx(other.p_inside, rel=1e-9)
