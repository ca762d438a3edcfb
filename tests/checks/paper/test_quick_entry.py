"""A check made on paper is typed in on one page and becomes the check that the guided steps would have made."""

from typing import Any

import pytest
from django.test import Client

from checks.models import Check, Draft, Reading
from checks.services.check import record_check
from checks.services.draft import begin_draft
from tests.bay import RISE, Bay, make_bay, readings

pytestmark = pytest.mark.django_db
KEY = "0c8bb9b1-59a4-4a2e-9a8f-0a64e8bd7f10"


def sheet(bay: Bay, **changes: str) -> dict[str, str]:
    """The boxes of a good sheet, in psi and thousandths of an inch."""
    typed = {
        "key": KEY,
        "action": "sign",
        "day": "2025-03-04",
        "begun": "9.30",
        "cautions": "0905",
        "reason": "scheduled",
        "odometer": "212000",
        "odometer_unit": "km",
        "engine_hours": "5120,5",
        "specification": str(bay.specification.pk),
        "dial": str(bay.dial.pk),
        "stimulus": str(bay.gauge.pk),
        "geometry": "flat_face",
        "angle_max": "2",
        "p_unit": "psi",
        "x_unit": "thou",
        **stroke("found", "59.5"),
    }
    return typed | changes


def stroke(prefix: str, at_setting: str) -> dict[str, str]:
    """The lines of one stroke."""
    typed = {f"{prefix}-exercise-{i}-p": "35" for i in (1, 2, 3)}
    for line in ("zero", "back"):
        typed |= {f"{prefix}-{line}-p": "0", f"{prefix}-{line}-x": "0"}
    for i, (psi, thou) in enumerate(RISE, 1):
        typed |= {f"{prefix}-rise-{i}-p": str(psi), f"{prefix}-rise-{i}-x": str(thou)}
    return typed | {f"{prefix}-setting-p": "31", f"{prefix}-setting-x": at_setting}


def send(bay: Bay, typed: dict[str, str], user: Any = None) -> Any:
    client = Client()
    client.force_login(user or bay.technician)
    return client.post(f"/checks/quick/{bay.turbocharger.pk}/", typed)


def look(bay: Bay, user: Any = None) -> str:
    client = Client()
    client.force_login(user or bay.technician)
    return client.get(f"/checks/quick/{bay.turbocharger.pk}/").content.decode()


def facts(check: Check) -> list[tuple[Any, ...]]:
    rows = Reading.objects.filter(stroke__check_made=check).order_by("stroke__moment", "order")
    return list(rows.values_list("stroke__moment", "phase", "stimulus", "stimulus_typed", "travel_mm", "seconds"))


def test_the_sheet_becomes_the_check_that_the_same_readings_make_elsewhere() -> None:
    bay, other = make_bay(), make_bay()
    answer = send(bay, sheet(bay))
    check = Check.objects.get(key=KEY)
    assert (answer.status_code, answer.url) == (302, f"/checks/{check.pk}/")
    elsewhere = record_check(user=other.technician, submission=other.submission())
    assert facts(check) == facts(elsewhere)
    assert (check.source, check.technician, check.engine_hours) == ("paper", bay.technician, 5120.5)
    assert check.made_at.isoformat() == "2025-03-04T09:30:00+00:00"
    assert check.cautions_read_at.isoformat() == "2025-03-04T09:05:00+00:00"


def test_times_are_those_of_the_depot() -> None:
    bay = make_bay()
    type(bay.depot).objects.filter(pk=bay.depot.pk).update(time_zone="Australia/Brisbane")
    send(bay, sheet(bay))
    assert Check.objects.get(key=KEY).made_at.isoformat() == "2025-03-03T23:30:00+00:00"


def test_an_adjustment_is_typed_with_its_direction_and_its_second_stroke() -> None:
    bay = make_bay()
    send(bay, sheet(bay, turns="2", turns_way="shorter", **stroke("found", "95"), **stroke("left", "59")))
    check = Check.objects.get(key=KEY)
    assert check.half_turns == -2
    assert [row.moment for row in check.strokes.all()] == ["as_found", "as_left"]


def test_a_line_that_begins_with_v_was_vented_before_the_rise_began_again() -> None:
    bay = make_bay()
    lines = [("22", "0"), ("24", "8"), ("33", "70"), ("v 0", "0"), ("24", "8"), ("28", "35"), ("30", "52")]
    typed = {
        f"found-rise-{i}-{box}": text for i, pair in enumerate(lines, 1) for box, text in zip("px", pair, strict=True)
    }
    send(bay, sheet(bay, **typed))
    check = Check.objects.get(key=KEY)
    phases = [phase for _, phase, *_ in facts(check)][5:]
    assert phases == ["rise", "rise", "rise", "vent", "rise", "rise", "rise", "setting"]
    assert check.strokes.get().assessments.get().state == "inside"


def test_falls_and_a_hold_are_kept_with_their_seconds() -> None:
    bay = make_bay()
    typed = {"found-fall-1-p": "28", "found-fall-1-x": "41", "found-hold-p": "27", "found-hold-s": "60"}
    send(bay, sheet(bay, **typed))
    assert [(phase, seconds) for _, phase, _, _, _, seconds in facts(Check.objects.get())[-2:]] == [
        ("fall", None),
        ("hold", 60.0),
    ]


def test_what_is_wrong_is_told_at_its_box_and_everything_typed_is_still_there() -> None:
    bay = make_bay()
    wrong = {"found-rise-2-x": "eight", "found-rise-4-p": "lots", "note": "stiff <coupling>"}
    answer = send(bay, sheet(bay, **wrong))
    text = answer.content.decode()
    assert answer.status_code == 400
    assert 'id="w-found-rise-2-x"' in text
    assert 'id="w-found-rise-4-p"' in text
    assert text.count('aria-invalid="true"') == 2
    assert "stiff &lt;coupling&gt;" in text
    assert 'value="eight"' in text
    assert not Check.objects.exists()
    assert 'value="eight"' in look(bay)


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"begun": "25:10"}, "begun"),
        ({"day": "4 March"}, "day"),
        ({"cautions": ""}, "cautions"),
        ({"day": "2099-03-04"}, "day"),
        ({"cautions": "9:05", "begun": "9:30", "day": "2019-03-04"}, "day"),
        ({"dial": ""}, "dial"),
        ({"reason": "whim"}, "reason"),
        ({"found-zero-p": "", "found-zero-x": ""}, "found-zero-p"),
        ({"found-setting-p": "", "found-setting-x": ""}, "found-setting-p"),
        ({"turns": "2"}, "left-zero-p"),
        ({"turns": "half"}, "turns"),
        ({"p_unit": "mV"}, "p_unit"),
        ({"angle_max": "steep"}, "angle_max"),
    ],
)
def test_each_fault_leads_to_its_own_box(changes: dict[str, str], place: str) -> None:
    bay = make_bay()
    answer = send(bay, sheet(bay, **changes))
    assert answer.status_code == 400
    assert f'href="#q-{place}"' in answer.content.decode()
    assert f'id="w-{place}"' in answer.content.decode()


def test_a_dash_says_that_nothing_was_read_and_the_verdict_says_so_too() -> None:
    bay = make_bay()
    send(bay, sheet(bay, **{"found-back-p": "-", "found-back-x": ""}))
    assert Check.objects.get().strokes.get().assessments.get().state == "void"


def test_sent_twice_it_is_one_check_and_the_draft_is_gone() -> None:
    bay = make_bay()
    send(bay, sheet(bay, action="keep"))
    assert Draft.objects.get().step == "paper"
    first, second = send(bay, sheet(bay)), send(bay, sheet(bay))
    assert first.url == second.url
    assert Check.objects.count() == 1
    assert not Draft.objects.exists()


def test_another_content_under_the_same_key_is_told_and_nothing_is_lost() -> None:
    bay = make_bay()
    send(bay, sheet(bay))
    answer = send(bay, sheet(bay, note="second thoughts"))
    assert answer.status_code == 409
    assert "second thoughts" in answer.content.decode()
    assert Check.objects.count() == 1


def test_what_is_kept_while_typing_comes_back_and_is_its_own_page() -> None:
    bay = make_bay()
    answer = send(bay, {"key": KEY, "action": "keep", "day": "2025-03-04", "found-zero-p": "0,1"})
    assert answer.status_code == 200
    assert "kept" in answer.json()
    text = look(bay)
    assert KEY in text
    assert 'value="0,1"' in text
    assert 'value="0,1"' not in look(bay, bay.manager)
    client = Client()
    client.force_login(bay.technician)
    assert client.get(f"/checks/drafts/{KEY}/paper/").url == f"/checks/quick/{bay.turbocharger.pk}/"
    assert client.post(f"/checks/begin/{bay.turbocharger.pk}/").url == f"/checks/drafts/{KEY}/paper/"


def test_a_guided_check_under_way_is_not_mixed_with_paper() -> None:
    bay = make_bay()
    begin_draft(user=bay.technician, turbocharger=bay.turbocharger)
    assert "is under way" in look(bay)
    assert send(bay, {"key": KEY, "action": "keep", "day": "2025-03-04"}).status_code == 409
    assert Draft.objects.get().step == "reason"


def test_only_whoever_may_check_the_unit_may_type_in_its_sheet() -> None:
    bay = make_bay()
    assert send(bay, sheet(bay), bay.viewer).status_code in {403, 404}
    assert send(bay, sheet(bay), make_bay().technician).status_code == 404
    assert not Check.objects.exists()


def test_the_readings_of_a_stroke_are_those_of_the_guided_steps() -> None:
    """The factory's stroke and the sheet's lines say the same, so that the comparisons above mean something."""
    assert len(readings("59.5")) == len([name for name in stroke("found", "59.5") if name.endswith("-p")])
