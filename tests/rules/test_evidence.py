"""What is said of one complaint, for every combination of records, and never more than they hold."""

from datetime import timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.rules.evidence import (
    Basis,
    ForecastTravel,
    Fuel,
    FuelSaid,
    Look,
    Stand,
    Step,
    Sure,
    Where,
    fuel_word,
    weigh,
)
from tests.rules.complained import RAISED, one

STATES = ("inside", "outside_low", "outside_high", "undecided", "void")


DECIDED = STATES[:3]


OUTSIDE = {Where.OUTSIDE_LOW, Where.OUTSIDE_HIGH}


def look(state, days, left=""):
    read = {} if state == "void" else {"travel_mm": 1.5, "expanded_mm": 0.03}
    return Look(on=RAISED + timedelta(days=days), state=state, left=left, **read)


def forecast(p_low=0.0, p_high=0.0, readings=3):
    return ForecastTravel(travel_mm=1.5, sd_mm=0.05, p_low=p_low, p_high=p_high, readings=readings)


def fuel(low, high):
    return FuelSaid(change=(low + high) / 2, low=low, high=high, level=3.5, recent=2, past=12)


@pytest.mark.parametrize(
    ("state", "left", "where", "step"),
    [
        ("inside", "", Where.INSIDE, Step.LOOK_ELSEWHERE),
        ("outside_low", "", Where.OUTSIDE_LOW, Step.RESTORE),
        ("outside_high", "undecided", Where.OUTSIDE_HIGH, Step.RESTORE),
        ("outside_low", "inside", Where.OUTSIDE_LOW, Step.WATCH),
        ("undecided", "", Where.UNSURE, Step.REPEAT),
        ("void", "", Where.UNSURE, Step.REPEAT),
    ],
)
def test_a_check_since_the_complaint_speaks_first(state, left, where, step):
    found = one(since=look(state, 9, left), before=look("inside", -80))
    assert (found.where, found.step) == (where, step)
    assert found.sure == (Sure.WELL if state in DECIDED else Sure.NOT)


def test_a_check_long_after_is_less_sure():
    assert one(since=look("inside", 60)).sure == Sure.WELL
    assert one(since=look("inside", 61)).sure == Sure.FAIRLY


@pytest.mark.parametrize(
    ("low", "high", "where", "step"),
    [
        (0.95, 0.0, Where.OUTSIDE_LOW, Step.CHECK_NOW),
        (0.0, 0.99, Where.OUTSIDE_HIGH, Step.CHECK_NOW),
        (0.01, 0.04, Where.INSIDE, Step.LOOK_ELSEWHERE),
        (0.03, 0.03, Where.UNSURE, Step.CHECK_NOW),
        (0.5, 0.46, Where.UNSURE, Step.CHECK_NOW),  # outside for sure, but which way is not told
    ],
)
def test_without_a_check_since_the_forecast_speaks(low, high, where, step):
    found = one(before=look("inside", -80), forecast=forecast(low, high))
    assert (found.where, found.step, found.units[0].basis) == (where, step, Basis.FORECAST)
    assert found.sure == (Sure.NOT if where == Where.UNSURE else Sure.FAIRLY)


def test_a_forecast_from_one_reading_is_hardly_sure():
    assert one(before=look("inside", -80), forecast=forecast(0.99, readings=1)).sure == Sure.POORLY


def test_a_unit_never_read_is_unknown_whatever_its_model_foretells():
    found = one(forecast=forecast(0.99, readings=0))
    assert (found.where, found.step, found.sure) == (Where.UNKNOWN, Step.CHECK_NOW, Sure.NOT)


@pytest.mark.parametrize("state", ["undecided", "void"])
def test_after_a_reading_that_cannot_be_trusted_no_unit_counts_as_inside(state):
    found = one(before=look(state, -20), forecast=forecast())
    assert (found.step, found.sure, found.units[0].trusted) == (Step.REPEAT, Sure.NOT, False)
    assert one(before=look(state, -20), forecast=forecast(0.99)).step == Step.CHECK_NOW
    assert one(before=look(state, -20)).where == Where.UNSURE


def test_as_left_counts_and_not_as_found_for_what_comes_after():
    found = one(before=look("outside_high", -20, left="inside"))
    assert (found.where, found.units[0].basis, found.sure) == (Where.INSIDE, Basis.LAST_CHECK, Sure.POORLY)


def test_without_any_record_nothing_is_claimed():
    assert (one().where, one().step, one().sure) == (Where.UNKNOWN, Step.CHECK_NOW, Sure.NOT)
    nobody = weigh([], RAISED, None)
    assert (nobody.where, nobody.step, nobody.agrees) == (Where.UNKNOWN, Step.RECORD_UNIT, None)


def test_of_two_units_the_more_pressing_decides():
    front, rear = Stand(name="front", since=look("inside", 3)), Stand(name="rear")
    found = weigh([front, rear], RAISED, None)
    assert (found.units[0].stand.name, found.step) == ("rear", Step.CHECK_NOW)


@pytest.mark.parametrize(
    ("said", "word"),
    [
        (None, Fuel.UNKNOWN),
        (fuel(0.001, 0.05), Fuel.MORE),
        (fuel(-0.05, -0.001), Fuel.LESS),
        (fuel(-0.01, 0.05), Fuel.LEVEL),
    ],
)
def test_fuel_is_more_or_less_only_where_its_limits_say_so(said, word):
    assert fuel_word(said) == word
    outside = weigh([Stand(name="114", since=look("outside_low", 3))], RAISED, said)
    inside = weigh([Stand(name="114", since=look("inside", 3))], RAISED, said)
    expected = {Fuel.MORE: (True, False), Fuel.LESS: (False, False)}.get(word, (None, None))
    assert (outside.agrees, inside.agrees) == expected


def test_no_combination_claims_more_than_its_records():
    """Every combination of last check, check since, forecast and own readings."""
    chances = [None, (0.0, 0.0), (0.97, 0.0), (0.0, 0.97), (0.3, 0.1)]
    for before, since, chance, readings in product((None, *STATES), (None, *STATES), chances, (0, 1, 4)):
        records = {
            "before": before and look(before, -40),
            "since": since and look(since, 5),
            "forecast": chance and forecast(*chance, readings=readings),
        }
        unit = one(**records).units[0]
        if unit.where in OUTSIDE | {Where.INSIDE}:
            decided = {since, before} & {str(unit.where)}
            by_forecast = chance is not None and readings > 0 and unit.basis == Basis.FORECAST
            assert decided or by_forecast, records
        if unit.step == Step.LOOK_ELSEWHERE:
            assert unit.where == Where.INSIDE, records
            assert unit.trusted, records
        if unit.sure == Sure.WELL:
            assert since in DECIDED, records
        if "void" in {since, before if since is None else None}:
            assert unit.sure == Sure.NOT, records


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.51, 0.999))
def test_a_side_is_named_only_at_the_level_asked_for(low, high, level):
    low, high = min(low, 1 - high), high
    found = weigh([Stand(name="1", forecast=forecast(low, high))], RAISED, None, level)
    if found.where == Where.OUTSIDE_LOW:
        assert low >= level
    elif found.where == Where.OUTSIDE_HIGH:
        assert high >= level
    elif found.where == Where.INSIDE:
        assert low + high <= 1 - level + 1e-12


def test_a_level_that_is_no_level_is_refused():
    with pytest.raises(ValueError, match="level"):
        weigh([], RAISED, None, 0.5)
