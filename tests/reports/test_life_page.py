"""The page of lives: the sentence first, limits everywhere, small groups honest, depots only to those who see them."""

import csv
import io
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models.forecast import Basis
from checks.services.life import fit_all
from reports.charts.life import Group, Reach
from reports.selectors.life import Compared, life_of
from reports.sentences.life import compared_sentence, limits_text, reach_text, shape_sentence, usage_text, why_not
from tests.bay import person
from tests.factories import DepotFactory
from tests.living_fleet import B10_KM, make_living_fleet

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    made = make_living_fleet()
    made.add(25, origin="new")
    made.add(25, origin="reconditioned", eta_km=40_000.0)
    return made


def read(client, user, address="/life/"):
    client.force_login(user)
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.getvalue().decode() if answer.streaming else answer.content.decode()


def rows_of(client, user, address):
    return list(csv.DictReader(io.StringIO(read(client, user, address).removeprefix("\ufeff"))))


def lead(page):
    return re.sub(r"\s+", " ", re.search(r'<p class="lead">(.*?)</p>', page, re.S)[1])


def number(text):
    return float(text.replace(",", ""))


def test_without_a_life_it_says_what_is_missing(client):
    page = read(client, person(DepotFactory(), "viewer"))
    assert "cannot be told yet" in lead(page)
    assert "It takes checks with verdicts" in page


def test_the_sentence_tells_b10_with_limits_that_hold_the_planted_life(client):
    fleet = make_living_fleet()
    fleet.add(40)
    fit_all()
    model = fleet.checked.bay.turbocharger.model.name
    said = re.match(
        rf"10 % of {model} have left their window by ([\d,]+) km \(([\d,]+) to ([\d,]+) km\)\.",
        lead(read(client, fleet.checked.bay.viewer)),
    )
    value, low, high = map(number, said.groups())
    assert low < B10_KM < high
    assert low < value < high


def test_a_group_with_few_outside_has_no_b10_but_its_count(client):
    fleet = make_living_fleet()
    fleet.add(4)
    fit_all()
    page = read(client, fleet.checked.bay.viewer)
    assert "cannot be told yet" in lead(page)
    assert re.search(r"too few: \d events?</td>", page)


def test_groups_are_set_apart_in_words(client, fleet):
    fit_all()
    page = read(client, fleet.checked.bay.viewer, "/life/?by=origin")
    assert "New and reconditioned differ by more than chance explains" in page
    assert "By B10 reconditioned are the first to leave." in page
    assert "What this cannot prove" in page
    assert "figure-life" in page


def test_counts_followed_stand_in_a_table_too(client, fleet):
    fit_all()
    page = read(client, fleet.checked.bay.viewer)
    whole = life_of([fleet.checked.bay.depot], basis=Basis.KM).models[0]
    found = re.search(r"Numbers followed.*?<tbody>(.*?)</tbody>", page, re.S)[1]
    assert [int(x) for x in re.findall(r'<td class="number">(\d+)</td>', found)] == list(whole.whole.followed)
    assert whole.whole.followed[-1] <= whole.whole.followed[0] <= whole.whole.lives


def test_what_is_asked_for_and_does_not_exist_shows_the_usual(client, fleet):
    fit_all()
    page = read(client, fleet.checked.bay.viewer, "/life/?model=99999999&by=x&usage=furlongs")
    assert lead(page) == lead(read(client, fleet.checked.bay.viewer))


def test_use_is_shown_in_the_readers_unit(client, fleet):
    fit_all()
    user = fleet.checked.bay.viewer
    type(user).objects.filter(pk=user.pk).update(distance_unit="mi")
    assert re.search(r"by [\d,]+ mi \(", lead(read(client, user)))


def test_depots_are_shown_to_those_who_see_them(client, fleet):
    fit_all()
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
    fit_all()
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
            read(client, user)
        return len(caught)

    fit_all()
    queries()
    few = queries()
    fleet.add(10)
    make_living_fleet(seed=9).add(8)
    fit_all()
    assert queries() == few


def group(name="new", *, events=12, b10=None, reason="", beta=(1.0, 0.8, 1.3)):
    return Group(
        kind="origin", key=name, name=name, model="M", lives=40, events=events, late=0, longest=90_000.0,
        reason=reason, eta=1.0, beta=beta[0], beta_limits=beta[1:], reaches=(b10,) if b10 else (), steps=(),
        followed=(),
    )  # fmt: skip


REACH = Reach(0.1, 84_400.0, 61_200.0, 109_300.0)


@pytest.mark.parametrize(
    ("reach", "basis", "unit", "said"),
    [
        (REACH, Basis.KM, "km", "84,000 km (61,000 to 109,000 km)"),
        (REACH, Basis.KM, "mi", "52,000 mi (38,000 to 68,000 mi)"),
        (Reach(0.1, 1688.0, 1224.0, 2186.0), Basis.HOURS, "mi", "1,690 h (1,220 to 2,200 h)"),
        (Reach(0.1, 9_420.0, 0.0, None), Basis.KM, "km", "9,400 km (0 km or more, no upper limit)"),
    ],
)
def test_limits_are_said_with_the_digits_that_a_life_can_bear(reach, basis, unit, said):
    assert reach_text(reach, basis, unit) == said
    assert limits_text(reach, basis, unit) in said


def test_use_is_rounded_by_its_size():
    assert [usage_text(x, Basis.KM, "km") for x in (123_456.0, 12_345.0, 1_234.0)] == [
        "123,000 km", "12,300 km", "1,230 km"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("beta", "said"),
    [
        ((0.6, 0.4, 0.9), "early rather than late"),
        ((2.0, 1.4, 2.9), "the longer they run"),
        ((1.2, 0.8, 1.8), "cannot"),
    ],
)
def test_the_shape_is_read_only_as_far_as_its_limits_go(beta, said):
    assert said in shape_sentence(group(b10=REACH, beta=beta))


def test_without_b10_nothing_is_said_of_the_shape():
    assert shape_sentence(group(reason="too few", events=3)) == ""
    assert why_not(group(reason="too few", events=3)) == "too few: 3 events"
    assert why_not(group(reason="too few", events=1)) == "too few: 1 event"


def compared(p, **changes):
    plain = {"kind": "origin", "named": ("new", "reconditioned"), "whole": True, "statistic": 1.0, "dof": 2}
    return Compared(**(plain | {"p": p, "p_scores": None} | changes))


def test_a_comparison_says_how_often_chance_does_as_much():
    pair = (group("new", b10=REACH), group("reconditioned", b10=Reach(0.1, 30_000.0, 20_000.0, 40_000.0)))
    said = compared_sentence(compared(0.34), pair, "origin")
    assert said == (
        "Between new and reconditioned no difference can be told: chance alone sets them so far apart in 34 of 100 "
        "cases."
    )
    assert "3 of 1,000 cases" in compared_sentence(compared(0.003), pair, "origin")
    assert "fewer than 1 of 1,000" in compared_sentence(compared(1e-9), pair, "origin")
    hidden = compared_sentence(compared(0.003, kind="depot", whole=False, named=("Here",)), pair[:1], "depot")
    assert hidden.startswith("Depots, some of which you do not see, differ")
    assert "first to leave" not in hidden


def test_groups_that_cannot_be_compared_say_why():
    pair = (group("new", b10=REACH), group("reconditioned", reason="too few", events=2))
    assert compared_sentence(None, pair, "origin") == (
        "Whether new and reconditioned units differ cannot be told: too few were seen outside (reconditioned)."
    )
    assert compared_sentence(None, pair[:1], "origin") == ""
