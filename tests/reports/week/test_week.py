"""The depot week: days with their room, checks by limit and risk, moves by hand, sheets."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import Standing
from checks.services.bay import level_depot, move_check
from reports.selectors.sheets import day_sheets
from reports.selectors.week import week
from reports.sentences.week import week_sentence
from reports.words.recheck import WHY
from tests.reports.week.week_days import ahead
from tests.reports.week_units import due_unit

pytestmark = pytest.mark.django_db


def test_limits_come_first_then_risk(bay):
    safe = due_unit(bay, 0)
    risky = due_unit(bay, 0, state=Standing.State.OUTSIDE_LOW)
    limited = due_unit(bay, 3, "void")
    bay.depot.checks_per_day = 3
    bay.depot.save()
    for unit in (safe, risky, limited):
        move_check(user=bay.manager, turbocharger=unit, day=ahead(1))
    found = week(user=bay.viewer, depot=bay.depot)
    assert [card.unit.pk for card in found.days[1].cards] == [limited.pk, risky.pk, safe.pk]
    assert [(day.taken, day.room) for day in found.days][:2] == [(0, 3), (3, 3)]


def test_a_limit_names_its_own_reason_where_another_asked_first(bay):
    unit = due_unit(bay, 0, "risk")
    unit.standing.rules += [{"rule": "open_complaint", "on": str(ahead(2)), "sentence": "Answer it.", "inputs": {}}]
    unit.standing.save()
    move_check(user=bay.manager, turbocharger=unit, day=ahead(1))
    (card,) = week(user=bay.viewer, depot=bay.depot).days[1].cards
    assert card.why == "risk is reached"
    assert card.when.startswith(f"limit {ahead(2).day} ")
    assert card.when.endswith(": complaint is open")


def test_a_chance_is_shown_only_where_a_forecast_tells_it(bay):
    due_unit(bay, 1)
    due_unit(bay, 1, state=Standing.State.OUTSIDE_LOW)
    level_depot(depot=bay.depot)
    cards = [card for day in week(user=bay.viewer, depot=bay.depot).days for card in day.cards]
    assert sorted(card.chance for card in cards) == ["", "over 99\u00a0%"]


def test_each_rule_says_why_in_three_words():
    assert {len(words.split()) for words in WHY.values()} == {3}


def test_every_rule_that_plans_has_its_words():
    from checks.rules.recheck.decide import RULES

    assert {rule.__name__ for rule in RULES} <= set(WHY)


def test_a_bar_fills_with_the_checks_and_tells_of_too_many(bay):
    for unit in (due_unit(bay, 1), due_unit(bay, 1), due_unit(bay, 1)):
        move_check(user=bay.manager, turbocharger=unit, day=ahead(1))
    day = week(user=bay.viewer, depot=bay.depot).days[1]
    assert (day.taken, day.room, day.over, day.filled) == (3, 2, 1, 100.0)
    assert f"{day.on:%A} holds more than the bay can make" in week_sentence(week(user=bay.viewer, depot=bay.depot))


def test_checks_without_a_day_are_explained(bay):
    for _ in range(3):
        due_unit(bay, 0, "void")
    level_depot(depot=bay.depot)
    mark_levelled(bay)
    found = week(user=bay.viewer, depot=bay.depot)
    assert (len(found.unplaced), found.unplaced_total) == (1, 1)
    (reason,) = found.reasons
    assert reason.startswith("Three checks have to be made by ")
    assert reason.endswith("and the bay has room for two.")


def mark_levelled(bay):
    """Record that the levelling was asked for after the newest plan."""
    from tests.factories import JobFactory

    JobFactory(kind="level-depot", key=f"depot {bay.depot.pk}")


def test_a_plan_that_moved_on_is_told(bay):
    due_unit(bay, 0)
    assert not week(user=bay.viewer, depot=bay.depot).fresh
    mark_levelled(bay)
    assert week(user=bay.viewer, depot=bay.depot).fresh


def test_the_week_stays_within_the_plan(bay):
    first = week(user=bay.viewer, depot=bay.depot, wanted=ahead(-20))
    assert (first.first, first.before, first.after) == (ahead(0), None, ahead(7))
    last = week(user=bay.viewer, depot=bay.depot, wanted=ahead(400))
    assert (last.last, last.after) == (ahead(41), None)


def test_the_first_depot_is_where_the_masthead_leads(bay, signed_in):
    answer = signed_in(bay.viewer).get(reverse("reports:weeks"))
    assert answer.url == reverse("reports:week", args=[bay.depot.code])


def test_a_sheet_tells_specification_last_reading_and_fit_instruments(bay, checked, signed_in):
    checked(bay, travel="95", days_ago=1)
    due_unit(bay, 2)
    level_depot(depot=bay.depot)
    sheets = day_sheets(week(user=bay.viewer, depot=bay.depot), user=bay.viewer)
    rows = {row.serial: row for sheet in sheets for row in sheet.rows}
    row = rows[bay.turbocharger.serial]
    assert row.reading.endswith("outside high")
    assert (row.facts.setting, row.facts.window) == ("213.7 kPa", "0.965 to 2.032 mm")
    assert row.sets == (f"{bay.dial.label} + {bay.gauge.label}",)
    text = signed_in(bay.viewer).get(reverse("reports:week_sheets", args=[bay.depot.code])).content.decode()
    assert "never checked" in text
    assert "The manufacturer's current service information" in text.replace("&#x27;", "'")


def test_instruments_whose_certificate_ends_before_the_day_are_not_on_its_sheet(bay):
    bay.dial.certificates.update(due_on=ahead(1))
    for days in (1, 2):
        move_check(user=bay.manager, turbocharger=due_unit(bay, days), day=ahead(days))
    one, two = day_sheets(week(user=bay.viewer, depot=bay.depot), user=bay.viewer)
    assert (len(one.rows[0].sets), two.rows[0].sets) == (1, ())


def test_the_number_of_queries_stays_with_more_units(bay, no_writes):
    due_unit(bay, 0)
    level_depot(depot=bay.depot)

    def cost(call):
        with CaptureQueriesContext(connection) as captured, no_writes():
            call()
        return len(captured)

    def sheets():
        day_sheets(week(user=bay.viewer, depot=bay.depot), user=bay.viewer)

    def page():
        week(user=bay.viewer, depot=bay.depot)

    few = cost(page), cost(sheets)
    for days in range(12):
        due_unit(bay, days)
    level_depot(depot=bay.depot)
    assert cost(page) <= few[0] + 1 <= 15
    assert cost(sheets) <= few[1] + 1
