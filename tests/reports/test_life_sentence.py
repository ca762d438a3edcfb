"""What the page of life says first, of a fleet with much, with little and with nothing to tell."""

import re

import pytest

from checks.services.life import fit_all
from tests.bay import person
from tests.factories import DepotFactory
from tests.living_fleet import B10_KM, make_living_fleet
from tests.read_pages import lead, read

pytestmark = pytest.mark.django_db


def test_without_a_life_it_says_what_is_missing(client):
    page = read(client, person(DepotFactory(), "viewer"), "/life/")
    assert "cannot be told yet" in lead(page)
    assert "It takes checks with verdicts" in page


def test_the_sentence_tells_b10_with_limits_that_hold_the_planted_life(client):
    fleet = make_living_fleet()
    fleet.add(40)
    fit_all()
    model = fleet.checked.bay.turbocharger.model.name
    said = re.match(
        rf"10 % of {model} have left their window by ([\d,]+) km \(([\d,]+) to ([\d,]+) km\)\.",
        lead(read(client, fleet.checked.bay.viewer, "/life/")),
    )
    value, low, high = (float(said[place].replace(",", "")) for place in (1, 2, 3))
    assert low < B10_KM < high
    assert low < value < high


def test_a_group_with_few_outside_has_no_b10_but_its_count(client):
    fleet = make_living_fleet()
    fleet.add(4)
    fit_all()
    page = read(client, fleet.checked.bay.viewer, "/life/")
    assert "cannot be told yet" in lead(page)
    assert re.search(r"too few: \d events?</td>", page)
