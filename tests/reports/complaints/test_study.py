"""The study of complaints against travel, as its page tells it."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import FuelFit, FuelMonth
from checks.services.complaint_study import study_complaints
from fleet.models import Complaint
from reports.selectors.complaint_study import Heard, Ratio, StudyPage
from reports.sentences.complaint_study import counts_sentence, study_sentence
from tests.bay import make_bay
from tests.factories import TruckFactory
from tests.reports.complaints.complaining import RAISED, complaint

pytestmark = pytest.mark.django_db


def study_fleet(bay):
    """Ten trucks over a year: four go outside in June and complain in July, one is silent, the others stay inside."""
    fit = FuelFit.objects.create(
        code_version="1", first_month=24300, last_month=24311, trucks=10, cells=120, trips=1, weight_km=1.0,
        columns="", residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip
    for number in range(10):
        truck = TruckFactory(depot=bay.depot)
        for month in range(24300, 24312):
            outside = number < 5 and month >= 24305
            FuelMonth.objects.create(
                fit=fit, truck=truck, month=month, litres=3000, km=9000, log_fuel=3.5, standard_error=0.004,
                travel=2 if outside else 0, thirsty=outside, turbocharger=bay.turbocharger,
            )  # fmt: skip
        if number < 4:
            Complaint.objects.create(truck=truck, kind="fuel_economy", raised_on=date(2025, 7, 4), raised_by="x")
    study_complaints()


def test_the_study_tells_odds_counts_and_the_silent_truck(bay, signed_in, no_writes):
    study_fleet(bay)
    complaint(bay)
    study_complaints()
    client = signed_in(bay.viewer)
    with no_writes():
        answer = client.get(reverse("reports:complaint_study"), {"lag": "1"})
    sentence = answer.context["sentence"]
    assert sentence.startswith("Fuel complaints go with travel outside the window: their odds were")
    assert "had within the one month before" in sentence
    assert "4 were raised while travel was outside" in answer.context["counts"]
    assert "of 1 travel is not known" in answer.context["counts"]
    assert "One truck burns more with its wastegate outside, and nobody complained." in answer.context["counts"]
    assert len(answer.context["silent"]) == 1
    lines = signed_in(bay.viewer).get(reverse("reports:complaint_study_file")).getvalue().decode().splitlines()
    assert len(lines) == 1 + 5 + 1
    assert lines[1].count("outside high") == 7


def test_another_depot_sees_the_fleets_odds_and_none_of_its_rows(bay, signed_in):
    study_fleet(bay)
    other = make_bay()
    answer = signed_in(other.manager).get(reverse("reports:complaint_study"))
    assert answer.context["page"].ratios["overall"].told
    assert (answer.context["page"].heard, answer.context["silent"], answer.context["page"].strata) == ([], [], [])
    assert "No fuel complaint is on record at your depots." in answer.context["counts"]


def test_without_a_study_the_page_says_what_is_missing(bay, signed_in):
    answer = signed_in(bay.viewer).get(reverse("reports:complaint_study"), {"lag": "99"})
    assert "cannot be told yet" in answer.context["sentence"]
    assert "brings trips in" in answer.content.decode()


def test_odds_without_an_upper_bound_claim_nothing_and_none_is_counted_in_plain_words():
    ratio = Ratio(estimate=None, low=0.012, high=None, p=1.0, method="exact", told=True)
    heard = [
        Heard(pk=pk, truck="1", depot="D", raised_on=RAISED, closed=False, state=state, letters="")
        for pk, state in enumerate(("outside_low", ""))
    ]
    page = StudyPage(
        lag=2, made_at=timezone.now(), ratios={"overall": ratio}, by_lag=[], heard=heard, silent=[], strata=[],
        whole_fleet=True,
    )  # fmt: skip
    assert study_sentence(page) == (
        "Fuel complaints cannot be told to go with travel: so few are on record that any odds from 0.01 times upwards "
        "agree with them."
    )
    counts = counts_sentence(page)
    assert counts.startswith("Of two fuel complaints, 1 was raised while travel was outside or had been within the lag")
    assert counts.endswith("No truck burns more with its wastegate outside while nobody complained.")
