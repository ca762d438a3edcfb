"""The board lists what a person may see, and costs the same for any fleet."""

from datetime import timedelta

import pytest
from django.db import connection
from django.http import QueryDict
from django.test.utils import CaptureQueriesContext

from checks.models import Standing
from fleet.models import Membership
from reports.pages.board import wanted_from
from reports.selectors.board import PAGE_SIZE, Wanted, board
from reports.sentences.board import board_sentence
from tests.bay import make_bay, person
from tests.factories import (
    EngineFactory,
    FitmentFactory,
    InstallationFactory,
    MembershipFactory,
    TruckFactory,
    TurbochargerFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db


def names(found):
    return [row.name for row in found.rows]


def count(found, state):
    return next(item.count for item in found.counts if item.state == state)


def test_a_checked_unit_shows_its_strip_state_last_check_and_next_date(checked, today, no_writes):
    bay = make_bay()
    check = checked(bay, days_ago=30)
    with no_writes():
        found = board(user=bay.viewer, wanted=Wanted(), today=today)
    (row,) = found.rows
    assert (row.name, row.position, row.state, row.last_check) == (bay.truck.unit_number, "single", "inside", check.pk)
    assert row.last_checked_on == today - timedelta(days=30)
    assert row.strip.sentence.startswith("As found 1.51")
    assert row.due_on == Standing.objects.get().due_on
    assert row.rule == "usage maximum"
    assert count(found, "inside") == found.total == 1


def test_a_unit_without_any_check_or_plan_is_listed_as_never_checked(today):
    bay = make_bay()
    found = board(user=bay.viewer, wanted=Wanted(state="never_checked"), today=today)
    assert names(found) == [bay.truck.unit_number]
    assert found.rows[0].strip.sentence.startswith("Never checked; window 0.965 to 2.032 mm")
    assert count(found, "never_checked") == 1


def test_a_unit_in_stock_goes_by_its_serial_number(today):
    bay = make_bay()
    spare = TurbochargerFactory(depot=bay.depot)
    found = board(user=bay.viewer, wanted=Wanted(find=spare.serial), today=today)
    assert names(found) == [spare.serial]
    assert found.rows[0].strip is None


def test_units_of_other_depots_are_not_seen_counted_or_offered(checked, today):
    own, other = make_bay(), make_bay()
    checked(own)
    checked(other, travel="95", days_ago=2)
    found = board(user=own.manager, wanted=Wanted(), today=today)
    assert names(found) == [own.truck.unit_number]
    assert (found.total, found.changes, found.depots) == (1, [], [own.depot])
    asked = board(user=own.manager, wanted=Wanted(depot=other.depot.pk), today=today)
    assert (asked.rows, asked.total) == ([], 0)
    found_by_name = board(user=own.manager, wanted=Wanted(find=other.truck.unit_number), today=today)
    assert found_by_name.rows == []


def test_scrapped_units_are_left_out(today):
    bay = make_bay()
    bay.turbocharger.scrapped_on = today
    bay.turbocharger.save()
    assert board(user=bay.viewer, wanted=Wanted(), today=today).total == 0


def test_filters_narrow_and_counts_follow_all_but_the_state(checked, today):
    inside, outside = make_bay(), make_bay()
    MembershipFactory(user=inside.viewer, depot=outside.depot, role=Membership.Role.VIEWER)
    checked(inside)
    checked(outside, travel="95")
    user = inside.viewer
    high = board(user=user, wanted=Wanted(state="outside_high"), today=today)
    assert (names(high), high.total, count(high, "inside")) == ([outside.truck.unit_number], 2, 1)
    assert names(board(user=user, wanted=Wanted(model=inside.turbocharger.model_id), today=today)) == [
        inside.truck.unit_number
    ]
    assert names(board(user=user, wanted=Wanted(depot=outside.depot.pk), today=today)) == [outside.truck.unit_number]
    assert names(board(user=user, wanted=Wanted(find=inside.truck.unit_number[-3:]), today=today)) == [
        inside.truck.unit_number
    ]


def test_overdue_is_told_by_the_date_beside_the_state(checked, today):
    bay = make_bay()
    checked(bay)
    Standing.objects.update(due_on=today - timedelta(days=1))
    found = board(user=bay.viewer, wanted=Wanted(state="overdue"), today=today)
    assert (found.overdue, found.rows[0].overdue, found.rows[0].state) == (1, True, "inside")
    Standing.objects.update(due_on=today)
    assert board(user=bay.viewer, wanted=Wanted(), today=today).overdue == 0


def test_the_sentence_answers_what_changed(checked, today):
    bay = make_bay()
    checked(bay, travel="95", days_ago=2)
    Standing.objects.update(due_on=today - timedelta(days=1))
    found = board(user=bay.viewer, wanted=Wanted(), today=today)
    day = f"{today - timedelta(days=7):%A}"
    assert board_sentence(found) == (
        f"One unit was found outside its window since last {day}: {bay.truck.unit_number} (high). One check is overdue."
    )


def test_a_unit_mended_on_the_spot_is_told_as_such(checked, today):
    bay = make_bay()
    checked(bay, travel="95", left="59", days_ago=2)
    sentence = board_sentence(board(user=bay.viewer, wanted=Wanted(), today=today))
    assert "(high); it stands inside again. No check is overdue." in sentence


def test_nothing_changed_is_an_answer_too(checked, today):
    bay = make_bay()
    checked(bay, travel="95", days_ago=9)
    sentence = board_sentence(board(user=bay.viewer, wanted=Wanted(), today=today))
    assert sentence.startswith("No unit was found outside its window since last ")


@pytest.mark.parametrize("sort", ["due", "unit", "state", "checked"])
def test_every_order_gives_every_unit_once(sort, today):
    bay = make_bay()
    for _ in range(PAGE_SIZE + 5):
        TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    pages = [board(user=bay.viewer, wanted=Wanted(sort=sort, page=page), today=today) for page in (1, 2)]
    assert [len(page.rows) for page in pages] == [PAGE_SIZE, 6]
    assert len({row.pk for page in pages for row in page.rows}) == PAGE_SIZE + 6


def test_the_worst_come_first_when_sorted_by_state(checked, today):
    inside, outside = make_bay(), make_bay()
    MembershipFactory(user=inside.viewer, depot=outside.depot, role=Membership.Role.VIEWER)
    checked(inside)
    checked(outside, travel="95")
    found = board(user=inside.viewer, wanted=Wanted(sort="state"), today=today)
    assert [row.state for row in found.rows] == ["outside_high", "inside"]


def test_a_page_beyond_the_last_shows_the_last(today):
    bay = make_bay()
    assert names(board(user=bay.viewer, wanted=Wanted(page=99), today=today)) == [bay.truck.unit_number]


def test_by_unit_goes_by_truck_and_then_by_serial_number_over_every_page(today):
    bay = make_bay()
    first = (bay.truck.unit_number, bay.turbocharger.serial)
    pairs = [first] + [(f"{n * 37 % 101:03d}", f"S{n * 53 % 97:03d}") for n in range(1, 2 * PAGE_SIZE - 10)]
    for unit_number, serial in pairs[1:]:
        truck, engine = TruckFactory(depot=bay.depot, unit_number=unit_number), EngineFactory(depot=bay.depot)
        InstallationFactory(truck=truck, engine=engine)
        FitmentFactory(turbocharger=TurbochargerFactory(depot=bay.depot, serial=serial), engine=engine)
    loose = [TurbochargerFactory(depot=bay.depot, serial=f"A{n:03d}").serial for n in range(30)]
    shown = [
        row.serial
        for page in (1, 2, 3)
        for row in board(user=bay.viewer, wanted=Wanted(sort="unit", page=page), today=today).rows
    ]
    assert shown == [serial for _, serial in sorted(pairs)] + loose


def test_the_number_of_queries_stays_with_more_units(checked, today):
    bay = make_bay()
    checked(bay, travel="95", days_ago=2)

    def cost():
        with CaptureQueriesContext(connection) as captured:
            board(user=bay.viewer, wanted=Wanted(), today=today)
        return len(captured)

    TurbochargerFactory(depot=bay.depot)
    few = cost()
    for _ in range(PAGE_SIZE):
        TurbochargerFactory(depot=bay.depot)
    assert cost() == few <= 12


def test_a_manager_of_two_depots_meets_each_unit_once(today):
    bay = make_bay()
    MembershipFactory(user=bay.manager, role=Membership.Role.MANAGER)
    assert board(user=bay.manager, wanted=Wanted(), today=today).total == 1


def test_a_person_without_depot_sees_nothing(today):
    make_bay()
    found = board(user=UserFactory(), wanted=Wanted(), today=today)
    assert (found.rows, found.total, found.depots) == ([], 0, [])


@pytest.mark.parametrize(
    "query",
    ["depot=x&model=-1&state=none&sort=none&page=0", "page=99999999999999999999", "depot=²", "find=%00", "page=1e9"],
)
def test_nonsense_in_the_address_is_as_if_not_given(query):
    assert wanted_from(QueryDict(query)) == Wanted()


def test_an_address_keeps_what_was_asked_and_begins_at_page_one():
    wanted = Wanted(depot=3, find="a&b", state="void", page=7)
    assert wanted.address(state="") == "?depot=3&find=a%26b"
    assert wanted_from(QueryDict(wanted.address(page=7)[1:])) == wanted


def test_lengths_are_in_the_viewers_unit(checked, today):
    bay = make_bay()
    checked(bay)
    user = person(bay.depot, Membership.Role.VIEWER)
    user.length_unit = "thou"
    (row,) = board(user=user, wanted=Wanted(), today=today).rows
    assert row.strip.sentence.endswith("window 38.0 to 80.0 thou, nominal 59.0 thou.")
