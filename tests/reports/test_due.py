"""The list of units to see again, depot by depot."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import Standing
from fleet.models import Depot, Membership
from reports.selectors.board import Wanted, board
from reports.selectors.due import due_list
from reports.sentences.board import due_sentence
from tests.bay import make_bay
from tests.factories import MembershipFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db


def planned(bay, days, today, **more):
    """A further unit of the bay's depot, due in `days`."""
    unit = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    Standing.objects.create(turbocharger=unit, due_on=today + timedelta(days=days), **more)
    return unit


def test_overdue_first_then_by_date_within_the_horizon(today):
    bay = make_bay()
    later, late, soon, far = (planned(bay, days, today) for days in (20, -3, 0, 31))
    found = due_list(user=bay.viewer, today=today, days=30)
    (part,) = found.lists
    assert [row.pk for row in part.rows] == [late.pk, soon.pk, later.pk]
    assert [row.overdue for row in part.rows] == [True, False, False]
    assert (found.overdue, found.due) == (1, 3)
    assert due_sentence(found, "30 days").startswith("One check is overdue; two more are due within 30 days.")
    assert far.pk not in {row.pk for row in part.rows}


def test_each_unit_says_why_by_the_rule_that_binds(checked, today, signed_in):
    bay = make_bay()
    checked(bay, travel="95", days_ago=1)
    (part,) = due_list(user=bay.viewer, today=today, days=14).lists
    assert part.rows[0].why.startswith("Left above its window on ")
    text = signed_in(bay.viewer).get(reverse("reports:due")).content.decode()
    assert part.rows[0].why in text


def test_the_reason_is_told_in_the_viewers_units_and_dates(checked, today):
    """120,000 km are 74,565 miles at 1.609344 km a mile (NIST SP 811, appendix B.8)."""
    bay = make_bay()
    checked(bay, days_ago=30)
    bay.viewer.distance_unit = "mi"
    (row,) = due_list(user=bay.viewer, today=today, days=365).lists[0].rows
    assert "at most 74,565 mi are run between checks" in row.why
    assert " km" not in row.why


def test_depots_are_kept_apart_and_others_unseen(today):
    one, two, strange = make_bay(), make_bay(), make_bay()
    MembershipFactory(user=one.viewer, depot=two.depot, role=Membership.Role.TECHNICIAN)
    units = {bay.depot.name: planned(bay, 3, today).pk for bay in (one, two)}
    planned(strange, 3, today)
    found = due_list(user=one.viewer, today=today, days=30)
    assert {part.depot.name: [row.pk for row in part.rows] for part in found.lists} == {
        name: [pk] for name, pk in units.items()
    }
    assert {part.depot.name: part.may_check for part in found.lists} == {one.depot.name: False, two.depot.name: True}
    assert due_list(user=one.viewer, today=today, days=30, depot=strange.depot.pk).lists == []


def test_a_technician_may_start_a_check_from_the_list_a_viewer_not(today, signed_in):
    bay = make_bay()
    unit = planned(bay, 3, today)
    begin = reverse("checks:begin", args=[unit.pk])
    assert begin in signed_in(bay.technician).get(reverse("reports:due")).content.decode()
    assert begin not in signed_in(bay.viewer).get(reverse("reports:due")).content.decode()


def test_scrapped_units_and_units_without_a_date_are_left_out(today):
    bay = make_bay()
    gone = planned(bay, 3, today)
    gone.scrapped_on = today
    gone.save()
    assert due_list(user=bay.viewer, today=today, days=30).due == 0


def test_a_very_long_list_says_how_many_more_there_are(today, monkeypatch):
    monkeypatch.setattr("reports.selectors.due.LONGEST", 2)
    bay = make_bay()
    for days in (1, 2, 3):
        planned(bay, days, today)
    (part,) = due_list(user=bay.viewer, today=today, days=30).lists
    assert (len(part.rows), part.more) == (2, 1)


@pytest.mark.parametrize("query", [{"days": "x"}, {"days": "-5"}, {"depot": "99999999999999999999"}, {"depot": "²"}])
def test_nonsense_in_the_address_is_as_if_not_given(query, signed_in):
    assert signed_in(make_bay().viewer).get(reverse("reports:due"), query).status_code == 200


def test_the_number_of_queries_stays_with_more_units_and_depots(today, no_writes):
    bay = make_bay()
    planned(bay, 3, today)

    def cost():
        with CaptureQueriesContext(connection) as captured, no_writes():
            due_list(user=bay.viewer, today=today, days=30)
        return len(captured)

    few = cost()
    for _ in range(3):
        other = make_bay()
        MembershipFactory(user=bay.viewer, depot=other.depot)
        for days in range(5):
            planned(other, days, today)
    assert cost() == few <= 10


def test_each_depot_is_on_its_own_day(monkeypatch):
    """At 11 o'clock UTC it is past midnight in Kiritimati (UTC+14) and not yet the day in Niue (UTC-11)."""
    ahead, behind = make_bay(), make_bay()
    Depot.objects.filter(pk=ahead.depot.pk).update(time_zone="Pacific/Kiritimati")
    Depot.objects.filter(pk=behind.depot.pk).update(time_zone="Pacific/Niue")
    MembershipFactory(user=ahead.viewer, depot=behind.depot, role=Membership.Role.VIEWER)
    moment = datetime(2026, 3, 10, 10, 30, tzinfo=UTC)
    monkeypatch.setattr("django.utils.timezone.now", lambda: moment)
    for bay in (ahead, behind):
        Standing.objects.create(turbocharger=bay.turbocharger, due_on=date(2026, 3, 10))
        Standing.objects.create(turbocharger=TurbochargerFactory(depot=bay.depot), due_on=date(2026, 3, 9))
    found = due_list(user=ahead.viewer, days=0)
    told = {part.depot.pk: [(row.due_on.day, row.overdue) for row in part.rows] for part in found.lists}
    assert told == {ahead.depot.pk: [(9, True), (10, True)], behind.depot.pk: [(9, False)]}
    assert [(part.overdue, part.due) for part in found.lists] == [
        ((2, 2) if part.depot.pk == ahead.depot.pk else (0, 1)) for part in found.lists
    ]
    shown = board(user=ahead.viewer, wanted=Wanted(state="overdue"))
    assert {row.depot for row in shown.rows} == {ahead.depot.name}
    assert (shown.overdue, shown.today) == (2, date(2026, 3, 11))


def test_units_without_a_plan_are_not_passed_over_in_silence(today):
    bay = make_bay()
    Standing.objects.filter(turbocharger=bay.turbocharger).delete()
    found = due_list(user=bay.viewer, today=today, days=30)
    assert due_sentence(found, "30 days") == (
        "No check is overdue; none is due within 30 days. One unit came in just now: its day will stand here within a "
        "minute."
    )
