"""What a verdict borrows from the model's other checks: the pooled slope and the recorded adjustments."""

from statistics import fmean, stdev

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models import Assessment
from checks.selectors import grounds
from checks.selectors.grounds import grounds_for, pooled_slope, recorded_adjustments
from checks.services.check import record_check
from tests.bay import make_bay, reading, readings

pytestmark = pytest.mark.django_db


def record(bay, month: int, **changes):
    day = f"2025-{month:02d}-04T09:30:00+00:00"
    common = {"made_at": day, "cautions_read_at": day, "odometer": None, "engine_hours": None}
    return record_check(user=bay.technician, submission=bay.submission(**common | changes))


def without_rise(travel: str):
    return {"readings": [row for row in readings(travel) if row["phase"] != "rise"]}


def test_three_measured_curves_make_a_pooled_slope():
    bay = make_bay()
    for month, travel in enumerate(("59.5", "62", "65"), start=1):
        assert pooled_slope(bay.specification) is None
        record(bay, month, travel=travel)
    slopes = [row.result["features"]["slope"]["value"] for row in Assessment.objects.all()]
    pooled = pooled_slope(bay.specification)
    assert (pooled.slope, pooled.count) == (pytest.approx(fmean(slopes)), 3)
    assert pooled.spread == pytest.approx(stdev(slopes))


def test_measured_curves_are_found_behind_newer_strokes_without_one_and_the_newest_count(monkeypatch):
    bay = make_bay()
    for month, travel in enumerate(("59.5", "62", "65", "68"), start=1):
        record(bay, month, travel=travel)
    slopes = [row.result["features"]["slope"]["value"] for row in Assessment.objects.order_by("pk")]
    for month in range(5, 9):
        record(bay, month, as_found=without_rise("59.5"))
    monkeypatch.setattr(grounds, "MEMORY", 3)
    pooled = pooled_slope(bay.specification)
    assert (pooled.slope, pooled.count) == (pytest.approx(fmean(slopes[1:])), 3)


def test_a_stroke_without_a_curve_is_judged_by_the_models_slope():
    bay = make_bay()
    first = record(bay, 1, as_found=without_rise("59.5"))
    for month in range(2, 5):
        record(bay, month)
    later = record(bay, 5, as_found=without_rise("59.5"))
    sources = {
        check: Assessment.objects.get(stroke__check_made=check).result["slope_source"] for check in (first, later)
    }
    assert sources == {first: "assumed", later: "model"}


def test_void_strokes_and_borrowed_slopes_teach_nothing():
    bay = make_bay()
    for month in range(1, 4):
        record(bay, month, as_found=without_rise("59.5"))
        record(bay, month, as_found={"readings": [reading("zero", "0", "0"), *readings("59.5", cycles=0)[1:]]})
    assert pooled_slope(bay.specification) is None


def test_adjustments_need_a_verdict_before_and_after():
    bay = make_bay()
    good = record(bay, 1, travel="95", half_turns=-2, as_left={"readings": readings("58")})
    record(bay, 2, travel="95", half_turns=-2, as_left={"readings": readings("58", cycles=0)})
    record(bay, 3, travel="95", half_turns=0, as_left={"readings": readings("90")}, note="linkage freed")
    (adjustment,) = recorded_adjustments(bay.turbocharger.model_id)
    assert adjustment.half_turns == -2
    by_moment = {row.stroke.moment: row for row in Assessment.objects.filter(stroke__check_made=good)}
    assert adjustment.as_found_mm == by_moment["as_found"].travel_mm
    assert adjustment.as_left_u_mm == by_moment["as_left"].standard_uncertainty_mm


def test_grounds_cost_the_same_however_much_was_recorded():
    bay = make_bay()
    with CaptureQueriesContext(connection) as before:
        grounds_for(bay.specification)
    for month in range(1, 4):
        record(bay, month, travel="95", half_turns=-2, as_left={"readings": readings("58")})
    with CaptureQueriesContext(connection) as after:
        grounds_for(bay.specification)
    assert len(after) <= len(before) + 1
    assert len(after) == 5


def test_other_models_do_not_count():
    bay, other = make_bay(), make_bay()
    for month in range(1, 4):
        record(other, month, travel="95", half_turns=-2, as_left={"readings": readings("58")})
    assert pooled_slope(bay.specification) is None
    assert recorded_adjustments(bay.turbocharger.model_id) == ()
