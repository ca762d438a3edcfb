"""A check made on paper is typed in on one page and becomes the check that the guided steps would have made."""

from typing import Any

import pytest

from checks.models import Check, Reading
from checks.services.check import record_check
from tests.bay import make_bay, readings
from tests.checks.paper.paper_sheet import KEY, look, send, sheet, stroke

pytestmark = pytest.mark.django_db


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


def test_the_readings_of_a_stroke_are_those_of_the_guided_steps() -> None:
    """The factory's stroke and the sheet's lines say the same, so that the comparisons above mean something."""
    assert len(readings("59.5")) == len([name for name in stroke("found", "59.5") if name.endswith("-p")])
