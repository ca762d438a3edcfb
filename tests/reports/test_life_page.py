"""The page of lives: the sentence first, limits everywhere, small groups honest, depots only to those who see them."""

import csv
import io
import re
from copy import deepcopy

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models.forecast import Basis
from checks.services.life import fit_all
from reports.selectors.life import life_of
from tests.bay import person
from tests.factories import DepotFactory
from tests.living_fleet import make_living_fleet
from tests.read_pages import lead, read

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def made(kept):
    made = make_living_fleet()
    made.add(25, origin="new")
    made.add(25, origin="reconditioned", eta_km=40_000.0)
    fit_all()
    return made


@pytest.fixture
def fleet(made):
    return deepcopy(made)


def rows_of(client, user, address):
    return list(csv.DictReader(io.StringIO(read(client, user, address).removeprefix("\ufeff"))))


def test_groups_are_set_apart_in_words(client, fleet):
    page = read(client, fleet.checked.bay.viewer, "/life/?by=origin")
    assert "New and reconditioned differ by more than chance explains" in page
    assert "By B10 reconditioned are the first to leave." in page
    assert "What this cannot prove" in page
    assert "figure-life" in page


def test_counts_followed_stand_in_a_table_too(client, fleet):
    page = read(client, fleet.checked.bay.viewer, "/life/")
    whole = life_of([fleet.checked.bay.depot], basis=Basis.KM).models[0]
    found = re.search(r"Numbers followed.*?<tbody>(.*?)</tbody>", page, re.S)[1]
    assert [int(x) for x in re.findall(r'<td class="number">(\d+)</td>', found)] == list(whole.whole.followed)
    assert whole.whole.followed[-1] <= whole.whole.followed[0] <= whole.whole.lives


def test_what_is_asked_for_and_does_not_exist_shows_the_usual(client, fleet):
    page = read(client, fleet.checked.bay.viewer, "/life/?model=99999999&by=x&usage=furlongs")
    assert lead(page) == lead(read(client, fleet.checked.bay.viewer, "/life/"))


def test_use_is_shown_in_the_readers_unit(client, fleet):
    user = fleet.checked.bay.viewer
    type(user).objects.filter(pk=user.pk).update(distance_unit="mi")
    assert re.search(r"by [\d,]+ mi \(", lead(read(client, user, "/life/")))


def test_depots_are_shown_to_those_who_see_them(client, fleet):
    here, name = fleet.checked.bay.viewer, fleet.checked.bay.depot.name
    assert name in read(client, here, "/life/?by=depot")
    stranger = person(DepotFactory(), "manager")
    page = read(client, stranger, "/life/?by=depot")
    assert name not in page
    assert fleet.checked.bay.turbocharger.model.name in lead(page)
    assert {row["grouped by"] for row in rows_of(client, stranger, "/life/groups.csv")} == {
        "model", "origin", "setting"
    }  # fmt: skip
    assert rows_of(client, stranger, "/life/lives.csv") == []


def test_the_files_hold_groups_with_limits_and_every_life(client, fleet):
    user = fleet.checked.bay.viewer
    whole = next(row for row in rows_of(client, user, "/life/groups.csv") if row["grouped by"] == "model")
    assert float(whole["B10 low"]) < float(whole["B10"]) < float(whole["B10 high"])
    assert (whole["settings"], whole["counted in"]) == ("50", "km")
    lives = rows_of(client, user, "/life/lives.csv")
    assert len(lives) == 50
    assert sum(row["first seen outside"] != "" for row in lives) == int(whole["seen outside"])
    assert rows_of(client, user, "/life/lives.csv?usage=hours") == []


def test_the_page_costs_the_same_queries_whatever_the_fleet(client, fleet):
    user = fleet.checked.bay.viewer

    def queries():
        with CaptureQueriesContext(connection) as caught:
            read(client, user, "/life/")
        return len(caught)

    queries()
    few = queries()
    fleet.add(10)
    make_living_fleet(seed=9).add(8)
    fit_all()
    assert queries() == few
