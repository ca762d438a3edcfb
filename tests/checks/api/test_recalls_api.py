"""Recalls for programs: to read, and only those of one's depots."""

from types import SimpleNamespace

import pytest

from tests.world import make_world

pytestmark = pytest.mark.django_db
LIST = "/api/v1/recalls/"


@pytest.fixture
def world() -> SimpleNamespace:
    return make_world()


def test_a_recall_tells_its_verdicts_units_and_trail(world, signed_in):
    client = signed_in(world.viewer)
    (row,) = client.get(LIST).json()["results"]
    assert (row["id"], row["instrument"], row["depot"]) == (world.recall.pk, world.gauge.label, world.depot.code)
    assert (row["since"], row["found_on"], row["manner"], row["closed_at"]) == (
        "2024-01-01",
        "2025-06-01",
        "unknown",
        None,
    )
    told = client.get(f"{LIST}{row['id']}/").json()
    (verdict,) = told["verdicts"]
    assert (verdict["check"], verdict["moment"], verdict["made_on"]) == (world.check.pk, "as_found", "2025-03-04")
    assert (verdict["recorded"], verdict["full"], verdict["changes"]) == ("inside", "void", True)
    assert told["units"] == [{"turbocharger": world.turbocharger.serial, "state": "to_see", "seen_on": None}]
    assert [entry["what"] for entry in told["trail"]] == ["opened"]


def test_another_depots_recall_is_not_there(world, signed_in):
    client = signed_in(world.outsider)
    assert client.get(LIST).json()["results"] == []
    assert client.get(f"{LIST}{world.recall.pk}/").status_code == 404


def test_recalls_are_not_written_by_programs(world, signed_in):
    assert signed_in(world.manager).post(LIST, {}).status_code == 405


def test_pages_say_what_was_judged_with_an_instrument_under_recall(world, signed_in):
    client = signed_in(world.viewer)
    for address in (f"/checks/{world.check.pk}/", f"/units/{world.turbocharger.pk}/"):
        page = client.get(address).content.decode()
        assert "Judged with an instrument under recall." in page, address
        assert f'href="/recalls/{world.recall.pk}/"' in page
    assert "instrument under recall" in client.get("/").content.decode()
    page = client.get(f"/recalls/{world.recall.pk}/").content.decode()
    assert f"Gauge {world.gauge.label} read 25 % high when it came back; 1 check since 1 Jan 2024 was judged" in page
    assert "1 verdict changes." in page
    assert "Accept" not in page  # a viewer works on nothing
