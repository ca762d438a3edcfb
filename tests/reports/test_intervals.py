"""The review of intervals counts what scheduled checks found, at own depots, and names its reason."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import Assessment, Check, Policy
from reports.charts.intervals import intervals_figure
from reports.selectors.intervals import interval_page
from reports.sentences.drift import intervals_sentence
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


def many(check, count, *, outside=0, reason="scheduled"):
    """Copies of a check of one unit, some of which found it outside."""
    judged = Assessment.objects.select_related("stroke").get(stroke__check_made=check, is_current=True)
    same = {f.attname: getattr(check, f.attname) for f in Check._meta.concrete_fields if f.name not in {"id", "key"}}
    plain = {f.attname: getattr(judged, f.attname) for f in Assessment._meta.concrete_fields if f.name != "id"}
    for n in range(count):
        at = check.made_at + timedelta(days=30 * (n + 1))
        made = Check.objects.create(**same | {"made_at": at, "reason": reason})
        stroke = made.strokes.create(moment="as_found")
        Assessment.objects.create(
            **plain | {"stroke_id": stroke.pk, "state": "outside_high" if n < outside else "inside"}
        )


def row_of(user, bay):
    return next(row for row in interval_page(user=user).rows if row.pk == bay.turbocharger.model_id)


@pytest.fixture
def bay():
    return make_bay()


def test_more_found_outside_than_the_target_asks_to_look_sooner(bay, checked):
    many(checked(bay, days_ago=300), 59, outside=12)
    row = row_of(bay.viewer, bay)
    assert (row.review.checks, row.review.outside, row.review.advice) == (60, 12, "shorten")
    assert row.interval_days == pytest.approx(30)
    assert row.advised_days == pytest.approx(15)  # no review takes more than half away
    assert intervals_sentence(interval_page(user=bay.viewer)).startswith("See ")


def test_none_outside_in_many_lets_intervals_grow(bay, checked):
    many(checked(bay, days_ago=300), 99)
    row = row_of(bay.viewer, bay)
    assert row.review.advice == "lengthen"
    assert 1 < row.review.factor <= 1.5


def test_the_target_is_the_policys(bay, checked):
    many(checked(bay, days_ago=300), 59, outside=12)
    Policy.objects.create(pk=1, target_outside=0.2)
    assert row_of(bay.viewer, bay).review.advice == "keep"


def test_other_reasons_and_void_or_undecided_checks_do_not_count(bay, checked):
    first = checked(bay, days_ago=300)
    many(first, 20, reason="complaint", outside=20)
    many(first, 3)
    Assessment.objects.filter(stroke__check_made__reason="scheduled", state="inside").first()
    Assessment.objects.filter(stroke__check_made=first).update(state="undecided")
    row = row_of(bay.viewer, bay)
    assert (row.review.checks, row.review.outside, row.undecided, row.review.advice) == (3, 0, 1, "wait")


def test_checks_of_other_depots_are_not_counted(bay, checked):
    many(checked(bay, days_ago=300), 20)
    assert row_of(make_bay().viewer, bay).review.checks == 0


def test_the_page_shows_share_interval_advice_and_the_logic(bay, checked, signed_in):
    many(checked(bay, days_ago=300), 59, outside=12)
    shown = signed_in(bay.viewer).get(reverse("reports:intervals")).content.decode()
    for words in ("20.0 %, 10.8 % to 32.3 %", "to about 15 days", "/methods/#intervals", "30 days"):
        assert words in shown


def test_the_figure_shows_each_models_exact_interval(bay, checked):
    """Clopper and Pearson for 12 of 60: 10.8 % to 32.3 % (from memory; scipy's binomtest agrees)."""
    from scipy.stats import binomtest

    many(checked(bay, days_ago=300), 59, outside=12)
    row = row_of(bay.viewer, bay)
    (trace,) = intervals_figure([(row.name, row.review)], 0.05)["data"]
    exact = binomtest(12, 60).proportion_ci(method="exact")
    assert trace["x"][0] + trace["error_x"]["array"][0] == pytest.approx(100 * exact.high)
    assert trace["x"][0] - trace["error_x"]["arrayminus"][0] == pytest.approx(100 * exact.low)


def test_the_cost_stays_with_more_models(bay, checked):
    checked(bay, days_ago=300)

    def cost():
        with CaptureQueriesContext(connection) as captured:
            interval_page(user=bay.viewer)
        return len(captured)

    few = cost()
    checked(make_bay(), days_ago=200)
    assert cost() == few <= 6
