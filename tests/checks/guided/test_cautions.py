"""The cautions stand before the work in full, and at each step in one line (common practice, no source)."""

import pytest

from tests.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "words",
    [
        "eye protection",
        "Back the regulator off",
        "canister see more than its maximum, 296.5 kPa",
        "clear of the lever",
        "Engine off and cool",
        "Lock out",
        "current service information",
        "emissions stay within",
        "qualified people",
    ],
)
def test_the_screen_of_cautions_names(walk: Walk, words: str) -> None:
    walk.begin()
    walk.reason()
    walk.instruments()
    assert words in walk.look("cautions").content.decode()


def test_nobody_passes_without_acknowledging_them(walk: Walk) -> None:
    walk.begin()
    walk.reason()
    walk.instruments()
    refused = walk.send("cautions")
    assert refused.status_code == 400
    assert "not acknowledged" in refused.content.decode()
    assert walk.look("zero").url.endswith("/cautions/")


def test_acknowledging_once_is_enough(walk: Walk) -> None:
    walk.to_the_stroke()
    first = walk.draft.answers["cautions_read_at"]
    walk.send("cautions")
    assert walk.draft.answers["cautions_read_at"] == first


def test_the_rod_is_turned_only_off_its_pin(walk: Walk) -> None:
    walk.to_the_verdict("88")
    walk.send("verdict", decision="adjust")
    page = walk.look("adjust").content.decode()
    assert "Take the rod end off the lever pin before you turn the rod" in page


def test_each_step_of_the_stroke_carries_its_own_line(walk: Walk) -> None:
    walk.to_the_rise()
    assert "Never above 296.5 kPa" in walk.look("rise").content.decode()
    assert "Regulator backed off" in walk.look("zero").content.decode()
