"""Lives are read from the records as they are: when they begin, between which checks they end, what tells nothing."""

from datetime import date, timedelta
from math import inf

import pytest

from checks.models import Amendment, Assessment
from checks.models.forecast import Basis
from checks.selectors.life import AT_ONCE, NO_METER, ONCE, OUT_AT_FIRST, UNSEEN, model_lives
from fleet.models import Fitment
from tests.checks.services.life.lives import left_out, lives
from tests.drifting_fleet import FITTED, KM_PER_DAY
from tests.factories import EngineFactory, FitmentFactory, InstallationFactory, TruckFactory
from tests.living_fleet import INSIDE_MM, LOW_MM

pytestmark = pytest.mark.django_db


OUT = {"state": "outside_low"}


@pytest.mark.parametrize("basis", list(Basis))
def test_a_life_ends_between_the_last_check_inside_and_the_first_outside(fleet, basis):
    unit = fleet.add_unit()
    for day, state in ((100, "inside"), (200, "inside"), (300, "outside_low"), (400, "outside_low")):
        fleet.add_check(unit, day, INSIDE_MM, state=state, hours=basis == Basis.HOURS)
    assert lives(fleet, unit, basis) == [(0, 200, 300)]


def test_a_life_goes_on_while_no_check_finds_it_outside(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, INSIDE_MM)
    assert lives(fleet, unit) == [(0, 150, inf)]


def test_found_outside_at_the_first_check_it_left_at_some_time_since_its_fitting(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 0, 150)]


@pytest.mark.parametrize("state", ["void", "undecided"])
def test_a_reading_without_a_verdict_tells_nothing(fleet, state):
    unit = fleet.add_unit()
    fleet.add_check(unit, 150, INSIDE_MM)
    fleet.add_check(unit, 250, INSIDE_MM, state=state)
    fleet.add_check(unit, 350, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 150, 350)]


def test_an_adjustment_begins_another_life(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, INSIDE_MM)
    fleet.add_check(unit, 200, LOW_MM, left_mm=INSIDE_MM, **OUT)
    fleet.add_check(unit, 300, INSIDE_MM)
    assert lives(fleet, unit) == [(0, 100, 200), (0, 100, inf)]
    rows = model_lives(fleet.bay.turbocharger.model, Basis.KM).rows
    assert [row.setting for row in rows if row.turbocharger == unit.pk] == ["plant", "workshop"]


def test_an_adjustment_not_left_inside_is_followed_from_the_first_check_that_finds_it_inside(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, LOW_MM, left_mm=LOW_MM, **OUT)
    Assessment.objects.filter(stroke__check_made=check, stroke__moment="as_left").update(state="undecided")
    fleet.add_check(unit, 200, INSIDE_MM)
    fleet.add_check(unit, 300, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 0, 100), (100, 100, 200)]


def test_half_turns_set_right_decide_whether_a_life_began_anew(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, INSIDE_MM, left_mm=INSIDE_MM)
    fleet.add_check(unit, 200, LOW_MM, **OUT)
    assert lives(fleet, unit) == [(0, 100, inf), (0, 0, 100)]
    Amendment.objects.create(
        check_made=check, field="half_turns", old_value="2", new_value="", reason="none", author=fleet.bay.manager
    )
    assert lives(fleet, unit) == [(0, 100, 200)]


def test_taking_the_unit_off_ends_what_is_known_and_on_another_engine_it_enters_late(fleet):
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, INSIDE_MM)
    off = FITTED + timedelta(days=150)
    Fitment.objects.filter(turbocharger=unit).update(removed_on=off, removed_odometer_km=1000 + 150 * KM_PER_DAY)
    truck, engine = TruckFactory(depot=fleet.bay.depot), EngineFactory(depot=fleet.bay.depot)
    InstallationFactory(truck=truck, engine=engine, installed_on=date(2023, 12, 1))
    # The other engine stands at what this one would have run, so that the checks' meters fit it.
    on = off + timedelta(days=10)
    FitmentFactory(turbocharger=unit, engine=engine, fitted_on=on, fitted_odometer_km=1000 + 160 * KM_PER_DAY)
    fleet.add_check(unit, 200, INSIDE_MM)
    fleet.add_check(unit, 300, LOW_MM, **OUT)
    # Ten days off the road do not count: 150 days before, 40 and 140 after.
    assert lives(fleet, unit) == [(0, 100, inf), (190, 190, 290)]


def test_a_unit_fitted_long_before_records_begin_enters_at_its_first_check_inside(fleet):
    early = FITTED - timedelta(days=500)
    unit = fleet.add_unit(fitted_on=early, fitted_odometer_km=1000 - 500 * 1.9)
    unit.fitments.get().engine.installations.update(installed_on=early)
    fleet.add_check(unit, 150, INSIDE_MM)
    fleet.add_check(unit, 250, LOW_MM, **OUT)
    [(entry, left, right)] = lives(fleet, unit)
    assert entry == left > 0
    assert right - left == 100


def test_one_fitted_long_before_and_outside_at_the_first_check_is_left_out(fleet):
    early = FITTED - timedelta(days=500)
    unit = fleet.add_unit(fitted_on=early, fitted_odometer_km=10.0)
    unit.fitments.get().engine.installations.update(installed_on=early)
    fleet.add_check(unit, 150, LOW_MM, **OUT)
    assert lives(fleet, unit) == []
    assert left_out(fleet)[OUT_AT_FIRST] == 1


def test_what_tells_nothing_is_counted_with_its_reason(fleet):
    fleet.add_check(fleet.add_unit(meters=False, fitted_on=FITTED - timedelta(days=60)), 150, INSIDE_MM)
    at_once = fleet.add_unit()
    fleet.add_check(at_once, 0, LOW_MM, odometer_km=1000.0, **OUT)
    late = fleet.add_unit()
    late.fitments.update(fitted_on=FITTED - timedelta(days=500), fitted_odometer_km=10.0)
    late.fitments.get().engine.installations.update(installed_on=FITTED - timedelta(days=500))
    fleet.add_check(late, 150, INSIDE_MM)
    # The bay's own unit was never looked at.
    assert left_out(fleet) == {AT_ONCE: 1, ONCE: 1, UNSEEN: 1, NO_METER: 1}
