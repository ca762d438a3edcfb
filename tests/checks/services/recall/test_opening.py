"""A certificate that finds an instrument wrong opens a recall; its checks are judged twice more, none is changed."""

from datetime import date

import pytest

from checks.models import Assessment, Recall, RecalledStroke, Standing
from checks.selectors.recall import strokes_of_recall
from checks.selectors.recalled import recalls_of_checks, unjudged
from checks.services.amendment import amend_check
from checks.services.certificate import supersede_certificate
from checks.services.recall import judge_all, judge_stale, open_missing
from checks.services.recall_work import accept_unit, close_recall, tell_day
from fleet.models import Job
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay
from tests.checks.services.recall.recalled import BACK, came_back, checked, judged, recalled
from tests.factories import CertificateFactory, CertificatePointFactory, InstrumentFactory

pytestmark = pytest.mark.django_db


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
