"""Restorations are found in the records, told from truck-months, and kept until either changes."""

from datetime import timedelta

import numpy as np
import pytest

from checks.models import Amendment, Assessment, FuelMonth, Restoration
from checks.services.restoration import KIND, find_restorations
from fleet.jobs.registry import kinds
from fleet.models import Fitment
from tests.factories import FitmentFactory, TurbochargerFactory
from tests.restored_fleet import GAIN, INSIDE_MM, LOW, RestoredFleet, make_restored_fleet

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet() -> RestoredFleet:
    return make_restored_fleet()


def test_a_unit_found_outside_and_left_inside_is_told_with_its_limits(fleet):
    unit = fleet.restore(400)
    fleet.burn()
    assert find_restorations() == 1
    row = Restoration.objects.get()
    assert (row.turbocharger, row.means, row.side, row.day) == (unit, "turned", "outside_low", fleet.restored[unit.pk])
    window = fleet.checked.bay.specification
    assert row.beyond_mm == pytest.approx(window.lower_mm - LOW)
    assert (row.months_before, row.months_after, row.controls) == (6, 6, 12)
    assert abs(row.change - GAIN) < 3 * row.standard_error
    assert row.litres_since > 0


@pytest.mark.parametrize(("state", "left"), [("inside", "inside"), ("outside_low", "outside_low"), ("void", "inside")])
def test_what_was_not_outside_or_not_brought_back_is_no_restoration(fleet, state, left):
    unit = fleet.restore(400, state=state)
    Assessment.objects.filter(stroke__check_made__turbocharger=unit, stroke__moment="as_left").update(state=left)
    fleet.burn()
    assert find_restorations() == 0


def swap(fleet, *, first_look: str):
    """A unit judged outside gives way to another, which is looked at a month later."""
    off = fleet.checked.add_unit()
    fleet.checked.add_check(off, 390, LOW, state="outside_low")
    fitment = Fitment.objects.get(turbocharger=off)
    day = fitment.fitted_on + timedelta(days=400)
    Fitment.objects.filter(pk=fitment.pk).update(removed_on=day)
    on = TurbochargerFactory(depot=off.depot, model=off.model)
    FitmentFactory(turbocharger=on, engine=fitment.engine, fitted_on=day)
    fleet.checked.add_check(on, 430, INSIDE_MM, state=first_look)
    fleet.restored[off.pk] = day
    fleet.burn()
    return off, on, day


def test_another_unit_that_stands_inside_is_a_restoration_too(fleet):
    off, on, day = swap(fleet, first_look="inside")
    assert find_restorations() == 1
    row = Restoration.objects.get()
    assert (row.means, row.turbocharger, row.fitment.turbocharger, row.day) == ("swapped", off, on, day)
    assert row.change < 0


def test_another_unit_that_stands_outside_itself_is_none(fleet):
    swap(fleet, first_look="outside_high")
    assert find_restorations() == 0


def test_two_units_of_a_truck_in_one_month_are_one_restoration(fleet):
    unit = fleet.restore(400)
    fleet.checked.add_check(unit, 402, LOW + 0.02, left_mm=INSIDE_MM, state="outside_low")
    fleet.burn()
    assert find_restorations() == 1
    assert Restoration.objects.get().units == 2


def test_what_cannot_be_told_says_why(fleet):
    fleet.restore(720)
    fleet.restore(30)
    fleet.burn()
    find_restorations()
    assert set(Restoration.objects.values_list("change", flat=True)) == {None}
    reasons = " ".join(Restoration.objects.values_list("reason", flat=True))
    assert "next change of this truck, or today" in reasons
    assert "stood outside for fewer than 2 months" in reasons


def test_without_trips_a_restoration_is_kept_untold(fleet):
    fleet.restore(400)
    assert find_restorations() == 1
    assert Restoration.objects.get().reason == "No trips of this truck are fitted."


def test_trucks_that_were_turned_meanwhile_are_no_controls(fleet):
    fleet.restore(400)
    for unit in fleet.checked.units[:4]:
        fleet.checked.add_check(unit, 420, INSIDE_MM, left_mm=INSIDE_MM)
    fleet.burn()
    find_restorations()
    assert Restoration.objects.get().controls == 8


def test_the_same_records_give_the_same_rows_and_what_is_gone_goes(fleet):
    unit = fleet.restore(400)
    fleet.burn()
    find_restorations()
    before = list(Restoration.objects.values())
    find_restorations()
    assert list(Restoration.objects.values()) == before
    FuelMonth.objects.filter(turbocharger=unit).update(log_fuel=3.0)
    find_restorations()
    changed = Restoration.objects.get()
    assert changed.pk == before[0]["id"]
    assert np.abs(changed.change) < 0.02
    Amendment.objects.create(
        check_made=changed.check_made, field="half_turns", old_value="2", new_value="", reason="Not turned after all.",
        author=fleet.checked.bay.manager,
    )  # fmt: skip
    assert find_restorations() == 0
    assert not Restoration.objects.exists()


def test_its_queries_do_not_grow_with_the_fleet(fleet, django_assert_max_num_queries):
    for day in (380, 400, 420, 440):
        fleet.restore(day)
    fleet.burn()
    with django_assert_max_num_queries(11):
        find_restorations()


def test_the_job_is_known():
    assert KIND in kinds()
