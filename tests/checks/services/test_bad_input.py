"""Wrong input names its field, says what to do, and leaves no row behind."""

from collections.abc import Callable
from typing import Any

import pytest

from checks.models import Assessment, Check, Reading, Standing, Stroke
from checks.services.check import record_check
from fleet.models import MeterReading
from fleet.problems import FleetErrors
from tests.bay import Bay, make_bay, reading

pytestmark = pytest.mark.django_db
Payload = dict[str, Any]
SETTING = 10  # place of the reading at the setting in the payload of a good check


def refused(bay: Bay, payload: Any) -> dict[str, str]:
    """Sentences by field of what was refused, once it is sure that nothing was stored."""
    with pytest.raises(FleetErrors) as caught:
        record_check(user=bay.technician, submission=payload)
    for model in (Check, Stroke, Reading, Assessment, Standing, MeterReading):
        assert not model.objects.exists()
    return {error.field: error.sentence for error in caught.value.errors}


def set_stimulus(payload: Payload, text: Any, unit: Any = "psi") -> None:
    payload["as_found"]["readings"][SETTING]["stimulus"] = {"text": text, "unit": unit}


def set_travel(payload: Payload, text: Any, unit: Any = "thou") -> None:
    payload["as_found"]["readings"][SETTING]["travel"] = {"text": text, "unit": unit}


@pytest.mark.parametrize(
    "text", ["", "  ", None, "NaN", "nan", "inf", "-inf", "1e9", "1e400", "31 psi", "abc", "3.1.2"]
)
def test_a_pressure_that_is_no_number_is_refused(text):
    bay = make_bay()
    payload = bay.submission()
    set_stimulus(payload, text)
    sentence = refused(bay, payload)[f"as_found.readings.{SETTING}.stimulus"]
    assert "number" in sentence


@pytest.mark.parametrize(("text", "unit"), [("-31", "psi"), ("1000000000", "psi"), ("31", "bar"), ("31000", "kPa")])
def test_a_pressure_beyond_belief_is_refused(text, unit):
    bay = make_bay()
    payload = bay.submission()
    set_stimulus(payload, text, unit)
    assert "cannot be right" in refused(bay, payload)[f"as_found.readings.{SETTING}.stimulus"]


def test_a_number_beyond_belief_is_told_its_limit_in_the_unit_typed():
    bay = make_bay()
    far = bay.submission(odometer={"text": "9999999", "unit": "mi"})
    assert "It is never above 6,213,712 mi;" in refused(bay, far)["odometer"]  # 1 mi = 1.609344 km, NIST SP 811
    payload = bay.submission()
    set_travel(payload, "5000")
    assert "It is never above 3,937 thou;" in refused(bay, payload)[f"as_found.readings.{SETTING}.travel"]


@pytest.mark.parametrize("unit", ["mm", "mV", "%", "", None, "PSI", "atm", 7, ["psi"]])
def test_a_unit_that_the_instrument_does_not_read_is_refused(unit):
    bay = make_bay()
    payload = bay.submission()
    set_stimulus(payload, "31", unit)
    assert "kPa or psi or bar" in refused(bay, payload)[f"as_found.readings.{SETTING}.stimulus"]


@pytest.mark.parametrize(
    ("text", "unit"), [("-5", "thou"), ("1000000000", "thou"), ("59.5", "in"), ("59.5", "psi"), ("", "mm")]
)
def test_a_travel_that_cannot_be_is_refused(text, unit):
    bay = make_bay()
    payload = bay.submission()
    set_travel(payload, text, unit)
    assert set(refused(bay, payload)) == {f"as_found.readings.{SETTING}.travel"}


def test_every_wrong_reading_is_named_at_once():
    bay = make_bay()
    payload = bay.submission()
    set_stimulus(payload, "NaN")
    payload["as_found"]["readings"][5]["travel"] = None
    payload["as_found"]["readings"][0]["phase"] = "warm-up"
    assert set(refused(bay, payload)) == {
        f"as_found.readings.{SETTING}.stimulus",
        "as_found.readings.5.travel",
        "as_found.readings.0.phase",
    }


def test_a_zero_under_pressure_is_refused():
    bay = make_bay()
    payload = bay.submission()
    payload["as_found"]["readings"][0] = reading("zero", "31", "0")
    assert "open to atmosphere" in refused(bay, payload)["as_found.readings.0.stimulus"]


def test_a_hold_needs_its_seconds():
    bay = make_bay()
    payload = bay.submission()
    payload["as_found"]["readings"].append(reading("hold", "31", seconds="-5"))
    payload["as_found"]["readings"].append(reading("hold", "31"))
    assert set(refused(bay, payload)) == {"as_found.readings.11.seconds", "as_found.readings.12.seconds"}


CHANGES: list[tuple[str, Callable[[Payload], Any]]] = [
    ("key", lambda p: p.update(key="not a key")),
    ("made_at", lambda p: p.update(made_at="2125-03-04T09:30:00+00:00")),
    ("made_at", lambda p: p.update(made_at="2025-03-04T09:30:00")),
    ("made_at", lambda p: p.update(made_at="2025-13-44T09:30:00+00:00")),
    ("made_at", lambda p: p.update(made_at=None)),
    ("made_at", lambda p: p.update(made_at="2021-06-01T09:30:00+00:00", cautions_read_at="2021-06-01T09:00:00+00:00")),
    ("made_at", lambda p: p.update(made_at="2019-06-01T09:30:00+00:00", cautions_read_at="2019-06-01T09:00:00+00:00")),
    ("cautions_read_at", lambda p: p.update(cautions_read_at=None)),
    ("cautions_read_at", lambda p: p.update(cautions_read_at="2025-02-01T09:05:00+00:00")),
    ("reason", lambda p: p.update(reason="curiosity")),
    ("odometer", lambda p: p.update(odometer={"text": "-1", "unit": "km"})),
    ("odometer", lambda p: p.update(odometer={"text": "1e9", "unit": "km"})),
    ("odometer", lambda p: p.update(odometer={"text": "212000", "unit": "h"})),
    ("odometer", lambda p: p.update(odometer="212000")),
    ("engine_hours", lambda p: p.update(engine_hours={"text": "NaN", "unit": "h"})),
    ("instruments", lambda p: p.update(instruments=None)),
    ("instruments.dial", lambda p: p["instruments"].update(dial=None)),
    ("instruments.dial", lambda p: p["instruments"].update(dial="x' OR 1=1")),
    ("instruments.stimulus", lambda p: p["instruments"].update(stimulus=10**30)),
    ("alignment", lambda p: p.update(alignment=None)),
    ("alignment.geometry", lambda p: p.update(alignment={"geometry": "sideways"})),
    ("alignment.angle_deg", lambda p: p["alignment"].update(angle_deg="90")),
    ("alignment.angle_max_deg", lambda p: p["alignment"].update(angle_max_deg="-1")),
    ("as_found.readings", lambda p: p.update(as_found=None)),
    ("as_found.readings", lambda p: p.update(as_found={"readings": []})),
    ("as_found.readings", lambda p: p.update(as_found={"readings": p["as_found"]["readings"] * 60})),
    ("half_turns", lambda p: p.update(half_turns="1.5", as_left=p["as_found"])),
    ("half_turns", lambda p: p.update(half_turns=41, as_left=p["as_found"])),
    ("half_turns", lambda p: p.update(half_turns=None, as_left=p["as_found"])),
    ("as_left", lambda p: p.update(half_turns=2)),
    ("note", lambda p: p.update(half_turns=0, as_left=p["as_found"])),
    ("complaint", lambda p: p.update(complaint=99)),
]


@pytest.mark.parametrize(("field", "change"), CHANGES, ids=[f"{i}-{field}" for i, (field, _) in enumerate(CHANGES)])
def test_a_wrong_value_is_refused_at_its_field(field, change):
    bay = make_bay()
    payload = bay.submission()
    change(payload)
    sentences = refused(bay, payload)
    assert list(sentences) == [field]
    assert len(sentences[field]) > 20


@pytest.mark.parametrize("payload", [None, [], "check", 7])
def test_what_is_no_check_at_all_is_refused(payload):
    refused(make_bay(), payload)


@pytest.mark.parametrize("odd", [None, [], {}, "", "readings", 7, [None], [[]], [{"phase": []}], [{"phase": "rise"}]])
def test_readings_of_any_shape_are_refused_without_a_crash(odd):
    bay = make_bay()
    refused(bay, bay.submission(as_found={"readings": odd}))
    refused(bay, bay.submission(as_found=odd))
