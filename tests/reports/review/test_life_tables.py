"""The review tells lives as their page does, and says them in a sentence."""

from copy import deepcopy
from datetime import date

import pytest

from checks.models.forecast import Basis
from checks.services.life import fit_all
from reports.export.frozen import Table
from reports.review.life import life_comparison_table, life_table
from reports.review.month import Month
from reports.review.records import read_records
from reports.review.summary import life
from reports.selectors.life import life_of
from tests.factories import DepotFactory
from tests.living_fleet import B10_KM, LivingFleet, make_living_fleet

pytestmark = pytest.mark.django_db
MONTH = Month(date(2025, 12, 1))


@pytest.fixture(scope="module")
def made(kept) -> LivingFleet:
    made = make_living_fleet()
    made.add(30, origin="new")
    made.add(15, origin="reconditioned")
    fit_all()
    return made


@pytest.fixture
def fleet(made) -> LivingFleet:
    return deepcopy(made)


def test_a_row_holds_b10_with_the_limits_of_the_page(fleet):
    whole = next(row for row in life_table(read_records(MONTH, None)).named() if row["grouped_by"] == "model")
    page = life_of([fleet.checked.bay.depot], basis=Basis.KM).models[0].whole
    assert (whole["counted_in"], whole["settings"], whole["seen_outside"]) == ("km", "45", str(page.events))
    assert whole["b10"] == f"{page.b10.usage:.0f}"
    assert float(whole["b10_low_limit"]) < B10_KM < float(whole["b10_high_limit"])


def test_a_depots_review_names_no_other_depot(fleet):
    other = DepotFactory()
    here, there = (
        {row["group"] for row in life_table(read_records(MONTH, depot)).named() if row["grouped_by"] == "depot"}
        for depot in (fleet.checked.bay.depot, other)
    )
    assert (here, there) == ({fleet.checked.bay.depot.name}, set())


def test_a_comparison_has_its_numbers_and_its_words(fleet):
    (row,) = (row for row in life_comparison_table(read_records(MONTH, None)).named() if row["grouped_by"] == "origin")
    assert (row["compared"], row["dof"]) == (fleet.checked.bay.turbocharger.model.name, "2")
    assert 0 <= float(row["p"]) <= 1
    assert row["said"].startswith(("Between new and reconditioned", "New and reconditioned differ"))


def test_the_summary_says_by_when_one_in_ten_has_left(fleet):
    held = life_table(read_records(MONTH, None))
    (sentence,) = life({"life": held}, MONTH, "the fleet")
    (whole,) = (row for row in held.named() if row["grouped_by"] == "model" and row["b10"])
    assert sentence.startswith("10 % have left their window after that much use:")
    assert f"by {int(whole['b10']):,} km ({int(whole['b10_low_limit']):,} to" in sentence


def test_without_lives_the_review_says_nothing_of_them(fleet):
    del fleet
    empty = life_table(read_records(MONTH, None))
    bare = Table(empty.name, empty.title, empty.says, empty.columns, (), chart=empty.chart)
    assert list(life({"life": bare}, MONTH, "the fleet")) == []
