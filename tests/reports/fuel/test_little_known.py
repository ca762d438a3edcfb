"""What the page of fuel says where little is known, or where the wastegates cost nothing that shows."""

import re

import pytest

from checks.services.drift import refit
from checks.services.fuel import fit_fleet
from tests.bay import make_bay
from tests.drifting_fleet import DriftingFleet
from tests.read_pages import read, words
from tests.thirsty_fleet import ThirstyFleet, make_thirsty_fleet

pytestmark = pytest.mark.django_db
ADDRESS = "/fuel/"


def test_one_truck_alone_carries_no_claim_of_cost(client):
    fleet = make_thirsty_fleet(inside=10, low=1, high=0)
    fleet.drive(months=6)
    fit_fleet()
    page = read(client, fleet.checked.bay.viewer, ADDRESS)
    assert "cannot be told yet, because what is known rests on 1." in page
    assert "No unit asked for lost a litre" in page
    # What is not told is not nothing either.
    costs = words(page.split("<h2>What travel outside the window cost")[1].split("</table>")[0])
    assert costs.count("not known") == 9
    assert "0 to 0" not in costs


def test_trips_before_any_check_cost_nothing_that_is_known(client):
    fleet = ThirstyFleet(DriftingFleet(make_bay()))
    for _ in range(3):
        fleet.add(1.4, 0.0, checks=0)
    refit()
    fleet.drive(months=3)
    fit_fleet()
    page = words(read(client, fleet.checked.bay.viewer, ADDRESS))
    assert "because no truck with trips has had its travel read since its turbocharger was fitted." in page
    assert "There are no marks yet" in page
    assert "In Mar 2025 the travel of 3 of 3 trucks is not known and counts with nothing." in page
    assert " 0 L" not in page


def test_less_fuel_is_called_so_and_a_cost_that_may_be_none_too(client):
    fleet = make_thirsty_fleet(inside=8, low=7, high=6)
    fleet.per_mm = (-0.15, 0.18)
    fleet.drive()
    fit_fleet()
    lead = re.search(r'<p class="lead">(.*?)</p>', read(client, fleet.checked.bay.viewer, ADDRESS), re.S)[1]
    assert re.search(r"Each 0.1 mm below the window goes with 1.[4-6] % \(1.\d to 1.\d %\) less fuel", lead)
    assert re.search(r"In Dec 2025 a cost cannot be told from none: [−\d]+ L \(−\d+ to \d+\)", lead)
    assert re.search(r"[−\d.]+ % \(−[\d.]+ to [\d.]+ %\) of all fuel", lead)
