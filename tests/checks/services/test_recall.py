"""A certificate that finds an instrument wrong opens a recall; its checks are judged twice more and nothing changes.

Whole and grown errors are those of the issue's own rule, common practice, no source; travels are worked by hand.
"""

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from checks.models import Assessment, Recall, RecalledStroke, Standing
from checks.selectors.recall import recall_rows, recalls, strokes_of_recall, units_of_recall
from checks.selectors.recalled import recalls_of_checks, unjudged
from checks.services.amendment import amend_check
from checks.services.certificate import add_certificate, supersede_certificate
from checks.services.check import record_check
from checks.services.recall import judge_all, judge_stale, open_missing
from checks.services.recall_work import accept_unit, close_recall, tell_day
from fleet.jobs.tasks import run_job
from fleet.models import Fitment, Job
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay, readings
from tests.factories import CertificateFactory, CertificatePointFactory, InstrumentFactory

pytestmark = pytest.mark.django_db
BACK = date(2025, 7, 1)
MM_PER_THOU = 0.0254


def checked(bay, day="2025-03-04", travel="59.5", **changes):
    moment = f"{day}T09:30:00+00:00"
    payload = bay.submission(
        travel=travel, made_at=moment, cautions_read_at=moment, odometer=None, engine_hours=None, **changes
    )
    return record_check(user=bay.technician, submission=payload)


def point(indication, error, moment="as_found"):
    return {"moment": moment, "indication": f"{indication:g}", "error": f"{error:.6f}", "expanded_uncertainty": "0.005"}


def came_back(bay, instrument=None, share=0.25, **changes):
    """The dial came back from the laboratory, reading high by a share of each reading, and was put right."""
    points = [point(at, share * at) for at in (0, 1, 2, 4, 8)] + [point(at, 0, "as_left") for at in (0, 1, 2, 4, 8)]
    entry = {
        "number": "K-77", "laboratory": "Dunlin Calibration", "issued_on": BACK.isoformat(), "due_on": "2030-07-01",
        "unit": "mm", "given": "error", "points": points, "confirmed": True,
    }  # fmt: skip
    return add_certificate(author=bay.manager, instrument=instrument or bay.dial, entry={**entry, **changes})


def judged(kind="recall"):
    for job in Job.objects.filter(kind=kind, state="queued"):
        run_job(job.pk)
    return Recall.objects.get()


def test_a_bad_certificate_opens_a_recall_and_a_good_one_does_not():
    bay = make_bay()
    came_back(bay, share=0.001, number="K-1", issued_on="2025-06-01")
    assert not Recall.objects.exists()
    certificate = came_back(bay)
    recall = Recall.objects.get()
    assert (recall.found, recall.instrument, recall.since) == (certificate, bay.dial, date(2025, 6, 1))
    assert (recall.worst_indication, recall.worst_error) == (8.0, 2.0)
    assert [(e.what, e.author) for e in recall.entries.all()] == [("opened", bay.manager)]


def test_a_refused_certificate_leaves_no_recall():
    with pytest.raises(FleetErrors):
        came_back(make_bay(), due_on="2020-01-01")
    assert not Recall.objects.exists()


def test_both_verdicts_stand_beside_the_original_which_is_kept():
    bay = make_bay()
    check = checked(bay, "2025-03-04")
    before = Assessment.objects.values().get()
    came_back(bay)
    recall = judged()
    row = RecalledStroke.objects.get()
    assert Assessment.objects.values().get() == before
    assert (row.recall, row.original.stroke.check_made, row.part) == (recall, check, "dial")
    # The dial read high by a quarter of its reading: true = indicated * (1 - 0.25), but for the cosine of its lean.
    assert row.full_travel_mm == pytest.approx(0.75 * before["travel_mm"], abs=2e-3)
    # Grown from the certificate of 1 Jan 2024 on: 428 of 547 days.
    share = (date(2025, 3, 4) - date(2024, 1, 1)).days / (BACK - date(2024, 1, 1)).days
    assert row.share == pytest.approx(share)
    assert row.grown_travel_mm == pytest.approx((1 - 0.25 * share) * before["travel_mm"], abs=2e-3)
    assert (before["state"], row.full["state"]) == ("inside", row.full_state)


def test_checks_outside_the_period_or_with_other_instruments_are_not_touched():
    bay = make_bay()
    other = InstrumentFactory(depot=bay.depot)
    certificate = CertificateFactory(instrument=other)
    for at in (0, 5, 12.7):
        CertificatePointFactory(certificate=certificate, indication=at)
    instruments = bay.submission()["instruments"]
    checked(bay, "2025-03-05", instruments={**instruments, "dial": other.pk})
    checked(bay, "2025-07-01")
    inside = checked(bay, "2025-06-30")
    came_back(bay)
    recall = judged()
    assert [row.check for row in strokes_of_recall(recall)] == [inside]


def test_a_check_whose_instrument_was_amended_counts_as_amended():
    bay = make_bay()
    other = InstrumentFactory(depot=bay.depot)
    certificate = CertificateFactory(instrument=other)
    for at in (0, 5, 12.7):
        CertificatePointFactory(certificate=certificate, indication=at)
    away = checked(bay, "2025-03-05")
    amend_check(user=bay.technician, check=away, field="dial", new_value=other.pk, reason="the other dial")
    came_back(bay)
    recall = judged()
    assert strokes_of_recall(recall) == []


def test_judging_twice_judges_once_and_late_checks_are_found():
    bay = make_bay()
    checked(bay)
    came_back(bay)
    recall = judged()
    assert RecalledStroke.objects.count() == 1
    judge_stale()
    assert not Job.objects.filter(kind="recall", state="queued").exists()
    checked(bay, "2025-05-06")
    assert len(unjudged(recall)[0]) == 1
    judge_stale()
    judged()
    assert RecalledStroke.objects.count() == 2
    assert judge_all() == 0


def test_certificates_on_record_open_their_recalls_afterwards():
    bay = make_bay()
    checked(bay)
    certificate = CertificateFactory(instrument=bay.dial, issued_on=BACK)
    CertificatePointFactory(certificate=certificate, moment="as_found", indication=5.0, error=1.0)
    CertificatePointFactory(certificate=certificate, indication=5.0)
    assert (open_missing(), open_missing()) == (1, 0)
    assert judge_all() == 1


def recalled(share=0.4):
    bay = make_bay()
    check = checked(bay)
    came_back(bay, share=share)
    return bay, check, judged()


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


def test_a_certificate_entered_in_error_takes_its_recall_with_it():
    bay, _, recall = recalled()
    supersede_certificate(author=bay.manager, certificate=recall.found, entry={"reason": "the wrong dial"})
    recall.refresh_from_db()
    assert recall.closed_at
    assert "the wrong dial" in recall.conclusion
    assert "instrument_recall" not in [rule["rule"] for rule in Standing.objects.get().rules]


def test_a_good_certificate_entered_late_lets_the_checks_before_it_stand():
    bay, early, recall = recalled()
    late = checked(bay, "2025-06-10")
    came_back(bay, share=0.0, number="K-70", issued_on="2025-05-01")
    recall.refresh_from_db()
    assert recall.since == date(2025, 5, 1)
    assert recall.entries.last().what == "moved"
    judge_all()
    assert [row.check for row in strokes_of_recall(recall)] == [late]
    assert early.pk not in recalls_of_checks([early.pk, late.pk])


@pytest.mark.parametrize("who", ["technician", "viewer"])
def test_only_a_manager_of_the_instruments_depot_works_on_a_recall(who):
    bay, _, recall = recalled()
    outsider = make_bay().manager
    for author in (getattr(bay, who), outsider):
        for act in (
            lambda a=author: close_recall(author=a, recall=recall, entry={"conclusion": "Done."}),
            lambda a=author: tell_day(author=a, recall=recall, entry={"reason": "It fell."}),
            lambda a=author: accept_unit(
                author=a, recall=recall, turbocharger=bay.turbocharger, entry={"reason": "No."}
            ),
        ):
            with pytest.raises(FleetError) as caught:
                act()
            assert caught.value.status == 403


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
