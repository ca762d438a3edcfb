"""Wrong input: the box, the reason, the fix; and everything that was typed is still there."""

from typing import Any

import pytest

from checks.models import Reading
from tests.walk import Walk

pytestmark = pytest.mark.django_db
BAD_NUMBERS = ["", "NaN", "inf", "thirty", "1e9", "--3", "999999999"]


def refused(answer: Any, field: str) -> str:
    """The sentence beside `field` of a refused screen."""
    assert answer.status_code == 400
    told = [one.sentence for one in answer.context["errors"] if one.field == field]
    assert told, [one.field for one in answer.context["errors"]]
    page = answer.content.decode()
    assert f'id="f-{field}"' in page
    return told[0]


@pytest.mark.parametrize("text", BAD_NUMBERS)
def test_a_pressure_that_is_none_is_refused(walk: Walk, text: str) -> None:
    walk.to_the_rise()
    answer = walk.add(text, "12.5")
    assert refused(answer, "stimulus")
    assert 'value="12.5"' in answer.content.decode()
    assert walk.listed() == []


@pytest.mark.parametrize("text", [*BAD_NUMBERS, "-50"])
def test_a_travel_that_is_none_is_refused(walk: Walk, text: str) -> None:
    walk.to_the_rise()
    answer = walk.add("22.75", text)
    assert refused(answer, "travel")
    assert 'value="22.75"' in answer.content.decode()
    assert walk.listed() == []


def test_a_unit_that_the_instrument_does_not_have_is_refused(walk: Walk) -> None:
    walk.to_the_rise()
    answer = walk.pair("rise", "22", "0", action="add", count=0, stimulus_unit="mV")
    assert "kPa or psi or bar" in refused(answer, "stimulus")


def test_typed_units_are_still_chosen_after_a_refusal(walk: Walk) -> None:
    walk.to_the_rise()
    answer = walk.pair("rise", "x", "0.5", action="add", count=0, stimulus_unit="bar", travel_unit="in")
    page = answer.content.decode()
    assert "<option selected>bar</option>" in page
    assert "<option selected>in</option>" in page
    assert 'value="x"' in page
    assert 'value="0.5"' in page


def test_every_wrong_box_is_told_at_once(walk: Walk) -> None:
    walk.begin()
    answer = walk.reason(reason="", odometer="far", engine_hours="-3", engine_hours_unit="h")
    assert {one.field for one in answer.context["errors"]} == {"reason", "odometer", "engine_hours"}


def test_a_truck_needs_a_meter_reading(walk: Walk) -> None:
    walk.begin()
    assert "odometer" in refused(walk.reason(odometer=""), "odometer")


def test_an_unknown_reason_is_refused(walk: Walk) -> None:
    walk.begin()
    assert refused(walk.reason(reason="curiosity"), "reason")


@pytest.mark.parametrize("text", ["", "two", "0", "2.5", "41"])
def test_half_turns_are_a_whole_number(walk: Walk, text: str) -> None:
    walk.to_the_verdict("88")
    walk.send("verdict", decision="adjust")
    assert refused(walk.send("adjust", half_turns=text, way="shorter"), "half_turns")
    assert walk.draft.answers.get("half_turns") is None


def test_a_turn_has_a_direction(walk: Walk) -> None:
    walk.to_the_verdict("88")
    walk.send("verdict", decision="adjust")
    answer = walk.send("adjust", half_turns="2")
    assert refused(answer, "way")
    assert 'value="2"' in answer.content.decode()


def test_a_verdict_asks_for_a_decision(walk: Walk) -> None:
    walk.to_the_verdict()
    assert refused(walk.send("verdict"), "decision")


def test_a_void_reading_is_no_ground_to_turn_the_rod(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("20", "0")
    walk.send("rise", action="stop")
    assert "Turn the rod" not in walk.look("verdict").content.decode()
    assert refused(walk.send("verdict", decision="adjust"), "decision")


def test_a_hold_needs_its_seconds(walk: Walk) -> None:
    walk.to_the_rise()
    walk.add("31", "59.5", action="setting")
    walk.send("rise", action="next")
    assert refused(walk.pair("fall", "31", "", action="add", count=0, phase="hold", seconds=""), "seconds")


def test_a_vented_reading_under_pressure_is_refused(walk: Walk) -> None:
    walk.to_the_stroke()
    assert "vented" in refused(walk.pair("zero", "29", "0"), "stimulus")


def test_an_odometer_below_an_earlier_one_is_told_at_once(walk: Walk) -> None:
    walk.begin()
    walk.bay.truck.meter_readings.create(read_at=walk.draft.begun_at, odometer_km=900_000, odometer_typed="900000 km")
    answer = walk.reason(odometer="212000")
    assert "900,000 km" in refused(answer, "odometer")
    assert 'value="212000"' in answer.content.decode()


def test_what_only_the_signature_finds_names_the_step_to_mend(walk: Walk) -> None:
    """An odometer below an earlier one of the same truck."""
    walk.to_the_verdict()
    walk.send("verdict", decision="leave")
    walk.bay.truck.meter_readings.create(read_at=walk.draft.begun_at, odometer_km=900_000, odometer_typed="900000 km")
    answer = walk.sign()
    mend = list(answer.context["errors"])
    assert mend
    assert mend[0].address.endswith("/reason/")
    assert not Reading.objects.exists()
