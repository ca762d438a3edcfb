"""Units that a recall asks to be seen again, until all are settled and it closes."""

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from checks.models import Recall, Standing
from checks.selectors.recall import recall_rows, recalls, strokes_of_recall, units_of_recall
from checks.selectors.recalled import recalls_of_checks
from checks.services.recall import judge_all
from checks.services.recall_work import accept_unit, close_recall, tell_day
from fleet.jobs.tasks import run_job
from fleet.models import Fitment, Job
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay, readings
from tests.checks.services.recall.recalled import BACK, came_back, checked, recalled

pytestmark = pytest.mark.django_db


def test_a_unit_whose_verdict_changes_is_to_be_seen_again():
    bay, check, recall = recalled()
    (unit,) = units_of_recall(recall)
    assert (unit.turbocharger, unit.state) == (bay.turbocharger, "to_see")
    standing = Standing.objects.get(turbocharger=bay.turbocharger)
    rule = next(rule for rule in standing.rules if rule["rule"] == "instrument_recall")
    assert date.fromisoformat(rule["on"]) == timezone.localdate() + timedelta(days=7)
    assert bay.dial.label in rule["sentence"]
    assert recalls_of_checks([check.pk]) == {check.pk: recall}


def test_a_later_look_with_a_sound_instrument_settles_the_unit():
    bay, _, recall = recalled()
    checked(bay, "2025-07-15")
    (unit,) = units_of_recall(recall)
    assert (unit.state, unit.seen_on) == ("seen", date(2025, 7, 15))
    assert "instrument_recall" not in [rule["rule"] for rule in Standing.objects.get().rules]
    close_recall(author=bay.manager, recall=recall, entry={"conclusion": "All were seen again."})


def test_a_void_look_settles_nothing():
    bay, _, recall = recalled()
    look = checked(bay, "2025-07-15", as_found={"readings": readings("59.5", cycles=1)})
    assert look.strokes.get().assessments.get().state == "void"
    assert units_of_recall(recall)[0].state == "to_see"


def test_a_recall_closes_only_when_every_unit_is_settled_and_keeps_its_trail():
    bay, _, recall = recalled()
    with pytest.raises(FleetError, match=bay.turbocharger.serial):
        close_recall(author=bay.manager, recall=recall, entry={"conclusion": "Done."})
    accept_unit(author=bay.manager, recall=recall, turbocharger=bay.turbocharger, entry={"reason": "It leaves soon."})
    assert "instrument_recall" not in [rule["rule"] for rule in Standing.objects.get().rules]
    with pytest.raises(FleetError, match="settled already"):
        accept_unit(author=bay.manager, recall=recall, turbocharger=bay.turbocharger, entry={"reason": "Again."})
    close_recall(author=bay.manager, recall=recall, entry={"conclusion": "The dial was replaced."})
    recall.refresh_from_db()
    assert recall.closed_at
    trail = [(e.what, e.author, e.reason) for e in recall.entries.all()][1:]
    assert trail == [
        ("accepted", bay.manager, "It leaves soon."),
        ("closed", bay.manager, "The dial was replaced."),
    ]
    with pytest.raises(FleetError, match="was closed"):
        close_recall(author=bay.manager, recall=recall, entry={"conclusion": "Again."})


def test_a_known_day_lets_earlier_checks_stand():
    bay, check, recall = recalled()
    late = checked(bay, "2025-06-10")
    judge_all()
    with pytest.raises(FleetErrors, match="found good on 1 Jan 2024"):
        tell_day(author=bay.manager, recall=recall, entry={"went_wrong_on": "2023-12-31", "reason": "It fell."})
    tell_day(author=bay.manager, recall=recall, entry={"went_wrong_on": "2025-05-01", "reason": "It fell."})
    recall.refresh_from_db()
    assert [row.check for row in strokes_of_recall(recall)] == [late]
    assert recalls_of_checks([check.pk, late.pk]) == {late.pk: recall}
    tell_day(author=bay.manager, recall=recall, entry={"went_wrong_on": "", "reason": "It was another."})
    recall.refresh_from_db()
    assert len(strokes_of_recall(recall)) == 2


def test_a_unit_off_its_engine_needs_no_look():
    bay, _, recall = recalled()
    Fitment.objects.update(removed_on=BACK)
    assert units_of_recall(recall)[0].state == "not_in_use"
    close_recall(author=bay.manager, recall=recall, entry={"conclusion": "Taken off."})


def test_the_review_reads_what_was_open_in_its_period():
    bay, _, recall = recalled()
    today = timezone.localdate()
    (row,) = recalls([bay.depot], since=today, until=today)
    assert (row.recall, row.checks, row.flips, row.waiting, row.is_open) == (recall, 1, 1, 1, True)
    assert recalls([bay.depot], since=date(2020, 1, 1), until=date(2020, 2, 1)) == []
    assert recall_rows([recall])[0].first_on == date(2025, 3, 4)
    assert isinstance(recall.opened_at, datetime)


def test_the_list_of_recalls_costs_as_many_queries_for_many_as_for_few(django_assert_num_queries):
    for _ in range(3):
        bay = make_bay()
        checked(bay)
        came_back(bay, share=0.4)
    for job in Job.objects.filter(kind="recall", state="queued"):
        run_job(job.pk)
    for count in (1, 3):
        with django_assert_num_queries(6):  # the recalls, and five
            rows = recall_rows(Recall.objects.all()[:count])
        assert [(row.checks, row.waiting, row.first_on) for row in rows] == [(1, 1, date(2025, 3, 4))] * count
