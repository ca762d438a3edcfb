"""Studies for programs: to read, and only those of one's depots."""

from types import SimpleNamespace

import pytest

from checks.selectors.study import told_of
from checks.services.study_publication import publish_study
from tests.world import make_world

pytestmark = pytest.mark.django_db
LIST = "/api/v1/studies/"


@pytest.fixture
def world() -> SimpleNamespace:
    return make_world()


def test_a_study_tells_its_order_analysis_and_publications(world, signed_in):
    publish_study(study=world.study, user=world.manager, reason="The first.")
    told = signed_in(world.viewer).get(f"{LIST}{world.study.pk}/").json()
    analysis = told_of(world.study).analysis
    assert (told["depot"], told["state"], told["entered"]) == (world.depot.code, "published", told["readings"])
    assert [row["place"] for row in told["order"]] == list(range(1, told["readings"] + 1))
    assert told["analysis"]["repeatability"] == analysis.repeatability
    assert [line["source"] for line in told["analysis"]["table"]] == [
        "technician",
        "part",
        "interaction",
        "error",
        "total",
    ]
    (publication,) = told["publications"]
    assert publication["repeatability_mm"] == analysis.figures().repeatability_mm
    assert (publication["reason"], publication["ended_at"]) == ("The first.", None)


def test_a_study_under_way_says_what_is_missing(world, signed_in):
    told = signed_in(world.viewer).get(f"{LIST}{world.study_begun.pk}/").json()
    assert told["analysis"] is None
    assert "readings are missing" in told["why_no_analysis"]
    assert {row["travel_mm"] for row in told["order"]} == {None}


def test_the_list_costs_a_constant_number_of_queries(world, signed_in, django_assert_max_num_queries):
    client = signed_in(world.viewer)
    with django_assert_max_num_queries(8):
        rows = client.get(LIST).json()["results"]
    assert {row["id"] for row in rows} == {world.study.pk, world.study_begun.pk}


def test_another_depots_study_is_not_there_and_programs_write_none(world, signed_in):
    client = signed_in(world.outsider)
    assert client.get(LIST).json()["results"] == []
    assert client.get(f"{LIST}{world.study.pk}/").status_code == 404
    assert client.post(LIST, {}).status_code == 405
