"""The sequence from the first screen to the signature."""

import pytest

from checks.models import Assessment, Check, Draft
from tests.walk import Walk

pytestmark = pytest.mark.django_db


def test_a_check_of_a_good_setting_is_inside(walk: Walk) -> None:
    """31 psi, 0.038 to 0.080 in about 0.059 in, at most 43 psi, reading 0.0595 in (common practice, no source)."""
    walk.to_the_verdict("59.5")
    page = walk.look("verdict")
    assert page.context["verdict"].state == "inside"
    walk.send("verdict", decision="leave")
    answer = walk.sign()
    verdict = Assessment.objects.get(stroke__check_made=walk.check)
    assert answer.url == f"/checks/{walk.check.pk}/"
    assert verdict.state == "inside"
    assert verdict.travel_mm == pytest.approx(1.511, abs=0.01)
    assert verdict.p_inside is not None
    assert verdict.p_inside > 0.95


def test_what_was_typed_is_kept_as_typed(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("22,0", "0")
    walk.add("31", "59.50", action="setting")
    walk.send("rise", action="next")
    walk.send("fall", action="next")
    walk.send("verdict", decision="leave")
    walk.sign()
    typed = walk.check.strokes.get().readings.values_list("stimulus_typed", "travel_typed")
    assert ("22,0", "0") in typed
    assert ("31", "59.50") in typed


def test_the_screens_come_in_the_order_of_the_procedure(walk: Walk) -> None:
    walk.begin()
    order = [
        walk.reason(),
        walk.instruments(),
        walk.send("cautions", read="yes"),
        walk.pair("zero", "0", "0"),
        walk.exercise(),
        walk.pair("zero-return", "0", "0"),
    ]
    assert [answer.url.split("/")[-2] for answer in order] == [
        "instruments", "cautions", "zero", "exercise", "zero-return", "rise",
    ]  # fmt: skip


def test_an_adjustment_is_followed_by_the_whole_stroke_again(walk: Walk) -> None:
    walk.to_the_verdict("88")
    assert walk.look("verdict").context["verdict"].state == "outside_high"
    assert walk.send("verdict", decision="adjust").url.endswith("/adjust/")
    assert walk.send("adjust", half_turns="2", way="shorter").url.endswith("/as-left-zero/")
    walk.up_to_rise("as-left-")
    walk.rise("60", "as-left-")
    page = walk.look("as-left-verdict")
    assert page.context["verdict"].state == "inside"
    assert len(page.context["verdict"].strip.readings) == 2
    walk.send("as-left-verdict")
    walk.sign()
    states = Assessment.objects.filter(stroke__check_made=walk.check).order_by("stroke__moment")
    assert [row.state for row in states] == ["outside_high", "inside"]
    assert walk.check.half_turns == -2


def test_fall_and_hold_may_be_recorded(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("31", "59.5", action="setting")
    walk.send("rise", action="next")
    walk.pair("fall", "28", "45", action="add", count=0, phase="fall")
    walk.pair("fall", "31", "", action="add", count=1, phase="hold", seconds="0")
    walk.pair("fall", "30.8", "", action="add", count=2, phase="hold", seconds="60")
    walk.send("fall", action="next")
    walk.send("verdict", decision="leave")
    walk.sign()
    phases = [row.phase for row in walk.check.strokes.get().readings.all()]
    assert phases[-3:] == ["fall", "hold", "hold"]


def test_signing_ends_the_draft(walk: Walk) -> None:
    walk.to_the_verdict()
    walk.send("verdict", decision="leave")
    walk.sign()
    assert not Draft.objects.exists()
    assert Check.objects.count() == 1


def test_a_canister_that_leaks_is_not_left_alone_because_its_travel_is_right(walk: Walk) -> None:
    """29 psi fall to 27 in a minute; a sound one loses next to nothing (common practice, no source)."""
    walk.to_the_rise()
    walk.rise("59.5")
    for count, (psi, seconds) in enumerate((("29", "0"), ("28", "30"), ("27", "60"))):
        fields = {"stimulus": psi, "stimulus_unit": "psi", "seconds": seconds, "count": count}
        walk.send("fall", action="add", phase="hold", travel="", travel_unit="thou", **fields)
    walk.send("fall", action="next")
    page = walk.look("verdict")
    verdict = page.context["verdict"]
    assert verdict.state == "inside"
    assert verdict.then.startswith("Leave the rod alone: the travel is right. Find the leak")
    assert any(told.startswith("It leaks: ") for told in verdict.warnings)
