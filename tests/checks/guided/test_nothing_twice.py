"""Reloading, pressing twice and two tabs lose nothing and double nothing."""

import pytest

from checks.models import Check, Draft
from tests.walk import Walk

pytestmark = pytest.mark.django_db


def test_beginning_twice_goes_on_with_the_same_check(walk: Walk) -> None:
    assert walk.begin().url == walk.begin().url
    assert Draft.objects.count() == 1


def test_a_second_tap_on_add_adds_nothing(walk: Walk) -> None:
    walk.to_the_rise()
    for _ in range(3):
        assert walk.add("22", "0", count=0).status_code == 302
    assert len(walk.listed()) == 1


def test_another_tab_that_lags_behind_is_told_and_keeps_its_typing(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("22", "0", count=0)
    answer = walk.add("24", "8.25", count=0)
    assert answer.status_code == 409
    assert "changed from another screen" in answer.content.decode()
    assert 'value="8.25"' in answer.content.decode()
    assert len(walk.listed()) == 1


def test_signing_twice_makes_one_check(walk: Walk) -> None:
    walk.to_the_verdict()
    walk.send("verdict", decision="leave")
    assert walk.sign().url == walk.sign().url
    assert Check.objects.count() == 1


def test_any_screen_of_a_signed_check_leads_to_its_page(walk: Walk) -> None:
    walk.to_the_verdict()
    walk.send("verdict", decision="leave")
    signed = walk.sign().url
    assert walk.look("rise").url == signed
    assert walk.send("reason").url == signed


def test_a_reload_shows_what_was_entered(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("22,5", "0,4")
    assert "22,5 psi" in walk.look("rise").content.decode()
    assert 'value="212000"' in walk.look("reason").content.decode()
    assert walk.look("zero").content.decode().count('value="0"') == 2


def test_going_back_and_sending_again_replaces(walk: Walk) -> None:
    walk.to_the_rise()
    walk.pair("zero", "0.1", "0.5")
    stroke = walk.draft.answers["as_found"]["readings"]
    assert [row["phase"] for row in stroke] == ["zero", "exercise", "exercise", "exercise", "zero_return"]
    assert stroke[0]["stimulus"]["text"] == "0.1"


def test_looking_at_a_screen_writes_nothing(walk: Walk, no_writes) -> None:
    walk.to_the_verdict()
    with no_writes():
        for step in ("reason", "instruments", "cautions", "zero", "exercise", "zero-return", "rise", "fall", "verdict"):
            assert walk.look(step).status_code == 200


def test_a_screen_ahead_of_the_work_leads_to_where_the_work_is(walk: Walk) -> None:
    walk.begin()
    assert walk.look("sign").url.endswith("/reason/")
    assert walk.pair("rise", "31", "59").url.endswith("/reason/")


def test_another_number_of_half_turns_asks_for_another_as_left_stroke(walk: Walk) -> None:
    walk.to_the_verdict("88")
    walk.send("verdict", decision="adjust")
    walk.send("adjust", half_turns="1", way="shorter")
    walk.up_to_rise("as-left-")
    walk.send("adjust", half_turns="1", way="shorter")
    assert walk.draft.answers["as_left"]["readings"]
    walk.send("adjust", half_turns="2", way="shorter")
    assert walk.draft.answers["as_left"] is None


def test_half_turns_entered_are_not_forgotten_by_leaving_alone(walk: Walk) -> None:
    walk.to_the_verdict("88")
    walk.send("verdict", decision="adjust")
    walk.send("adjust", half_turns="1", way="shorter")
    assert walk.send("verdict", decision="leave").status_code == 400
    assert walk.send("adjust", action="not-turned").url.endswith("/verdict/")
    assert walk.send("verdict", decision="leave").url.endswith("/sign/")


def test_a_void_stroke_may_be_made_again_from_its_zero(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("20", "0")
    walk.send("rise", action="stop")
    assert walk.send("verdict", action="anew").url.endswith("/zero/")
    walk.up_to_rise()
    walk.rise("59.5")
    assert walk.look("verdict").context["verdict"].state == "inside"


def test_discarding_twice_is_no_error(walk: Walk) -> None:
    walk.begin()
    address = f"/checks/drafts/{walk.key}/discard/"
    assert walk.client.post(address).url == walk.client.post(address).url == "/checks/find/"
    assert not Draft.objects.exists()
