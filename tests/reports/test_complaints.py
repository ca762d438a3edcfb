"""The register of complaints, the page of one, and the study of all."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from checks.models import FuelFit, FuelMonth
from checks.selectors.days import month_of
from checks.selectors.evidence import weighed
from checks.services.check import record_check
from checks.services.complaint import file_complaint, settle_complaint
from checks.services.complaint_study import study_complaints
from fleet.models import Complaint
from reports.selectors.complaint_study import Heard, Ratio, StudyPage
from reports.selectors.complaints import complaints_for, held
from reports.sentences.complaint_study import counts_sentence, study_sentence
from reports.sentences.complaints import evidence_sentence, list_sentence, next_sentence, sure_sentence
from tests.bay import make_bay
from tests.factories import DriftFitFactory, ForecastFactory, TruckFactory

pytestmark = pytest.mark.django_db
RAISED = date(2025, 3, 1)


@pytest.fixture
def bay():
    return make_bay()


def complaint(bay, raised_on=RAISED, **changes):
    said = {"kind": "fuel_economy", "raised_on": raised_on, "raised_by": "driver"} | changes
    return file_complaint(user=bay.technician, truck=bay.truck, **said)


def said_of(row):
    """The evidence, how sure, and what next."""
    found = weighed(row)
    return evidence_sentence(found, row, "mm"), sure_sentence(found.evidence), next_sentence(found, row)


def fuel(bay, last, percents, travel=0):
    """Months of trips up to the month `last`, so many per cent above 33 L/100 km each."""
    fit = FuelFit.objects.create(
        code_version="1", first_month=last, last_month=last, trucks=1, cells=1, trips=1, weight_km=1.0, columns="",
        residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip
    for back, percent in enumerate(reversed(percents)):
        FuelMonth.objects.create(
            fit=fit, truck=bay.truck, month=last - back, litres=3000, km=9000, log_fuel=3.5 + percent / 100,
            standard_error=0.004, travel=travel, turbocharger=bay.turbocharger,
        )  # fmt: skip


def test_a_check_that_found_it_outside_is_told_with_its_reading_and_distance(bay):
    record_check(user=bay.technician, submission=bay.submission(travel="90"))
    sentence, sure, then = said_of(complaint(bay))
    assert "was checked on 4 Mar 2025, three days after the complaint, and found above its window (2.29" in sentence
    assert "0.254 mm beyond its limit" in sentence
    assert "no trips are on record" in sentence
    assert sure.startswith("Well founded")
    assert then.startswith("Put the wastegate right")


def test_a_check_that_found_it_inside_says_look_elsewhere(bay):
    record_check(user=bay.technician, submission=bay.submission())
    _, _, then = said_of(complaint(bay))
    assert then == "Look elsewhere than at the wastegate first."


def test_a_unit_never_checked_is_not_known(bay):
    sentence, sure, then = said_of(complaint(bay))
    assert "had not been checked since it was fitted, so where it stood is not known" in sentence
    assert (sure, then) == ("The records do not decide where the wastegate stood.", "Check it now.")


def test_a_last_check_without_a_forecast_is_poorly_founded(bay):
    record_check(user=bay.technician, submission=bay.submission())
    sentence, sure, _ = said_of(complaint(bay, date(2025, 4, 3)))
    assert "was last checked on 4 Mar 2025, 30 days earlier, and found inside its window" in sentence
    assert sure.startswith("Poorly founded")


def test_after_a_void_check_the_reading_is_not_trusted(bay):
    submission = bay.submission(travel="59.5")
    submission["as_found"]["readings"] = submission["as_found"]["readings"][:-1]  # no reading at the setting
    record_check(user=bay.technician, submission=submission)
    _, sure, then = said_of(complaint(bay, date(2025, 4, 3)))
    assert then.startswith("Repeat the check")
    assert sure.startswith("The records do not decide")


def forecast(bay, travel_mm, readings=3):
    today = timezone.localdate()
    path = [
        [10_000.0 * i, travel_mm, travel_mm - 0.1, travel_mm - 0.03, travel_mm + 0.03, travel_mm + 0.1, 0.0]
        for i in range(30)
    ]
    ForecastFactory(
        turbocharger=bay.turbocharger, fit=DriftFitFactory(turbocharger_model=bay.turbocharger.model),
        epoch_began_on=today - timedelta(days=100), usage_now=50_000.0, readings=readings, path=path,
        travel_now_mm=travel_mm,
    )  # fmt: skip
    return today - timedelta(days=5)


@pytest.mark.parametrize(
    ("travel_mm", "words", "then"),
    [
        (0.6, "stood 0.365 mm below its window", "Check it now."),
        (2.4, "stood 0.368 mm above its window", "Check it now."),
        (1.5, "stood inside its window", "Look elsewhere than at the wastegate first. A check would confirm"),
        (2.0, "Whether the wastegate stood inside its window", "Check it now."),
    ],
)
def test_the_forecast_for_that_day_speaks_where_no_check_was_made_since(bay, travel_mm, words, then):
    sentence, _, next_step = said_of(complaint(bay, forecast(bay, travel_mm)))
    assert words in sentence
    assert f"{travel_mm:.2f} ± 0.10 mm" in sentence
    assert "chance of being outside" in sentence
    assert next_step.startswith(then)


def test_fuel_above_its_own_level_is_told_with_limits(bay):
    record_check(user=bay.technician, submission=bay.submission())
    fuel(bay, month_of(RAISED), [0.3, -0.2, 0.1, -0.4, 0.2, 0.4, -0.3, 0.0, -0.1, 4.2, 5.1])
    sentence, sure, _ = said_of(complaint(bay))
    assert "Fuel use was 4.8 % (2.8 to 6.8 %)" in sentence
    assert "above the truck's own level" in sentence
    assert sure.endswith("The truck burns more, and not because its wastegate stands outside.")


def test_fuel_within_its_own_spread_is_not_told_apart(bay):
    fuel(bay, month_of(RAISED), [1.3, -2.2, 1.1, -1.4, 2.2, 0.4, -1.3, 0.7, -0.1, 0.6])
    assert "Fuel use cannot be told from the truck's own level (−" in said_of(complaint(bay))[0]


def test_few_months_make_no_level(bay):
    fuel(bay, month_of(RAISED), [1.0, 2.0, 1.0])
    assert "too few months of trips to tell the truck's own level" in said_of(complaint(bay))[0]


def test_a_kind_that_asks_for_no_check_looks_for_nearer_causes(bay):
    assert said_of(complaint(bay, kind="noise"))[2].startswith("Look for nearer causes first")


def test_a_truck_without_a_turbocharger_says_what_to_record(bay):
    bare = TruckFactory(depot=bay.depot)
    row = file_complaint(user=bay.technician, truck=bare, kind="smoke", raised_on=RAISED, raised_by="driver")
    sentence, _, then = said_of(row)
    assert sentence.startswith("No turbocharger is on record on truck")
    assert then.startswith("Record which turbocharger")


def test_the_list_is_narrowed_and_costs_the_same_at_any_length(bay, signed_in, django_assert_num_queries):
    client = signed_in(bay.viewer)
    for day in range(60):
        Complaint.objects.create(
            truck=bay.truck, kind="smoke" if day % 2 else "noise", raised_on=RAISED + timedelta(days=day), raised_by="x"
        )
    with CaptureQueriesContext(connection) as many:
        first = client.get(reverse("reports:complaints"))
    assert len(first.context["rows"]) == 50
    with CaptureQueriesContext(connection) as none:
        client.get(reverse("reports:complaints"), {"find": "no such truck"})
    assert len(many) == len(none)
    second = client.get(reverse("reports:complaints") + first.context["next"])
    assert [row.raised_on for row in second.context["rows"]] == [RAISED + timedelta(days=n) for n in range(9, -1, -1)]
    smoke = client.get(reverse("reports:complaints"), {"kind": "smoke", "find": bay.truck.unit_number})
    assert len(smoke.context["rows"]) == 30
    assert not complaints_for(make_bay().manager).exists()
    with django_assert_num_queries(1):
        now = held(bay.viewer)
    assert (now.open, now.oldest, now.asking) == (60, RAISED, 30)


@pytest.mark.parametrize(
    ("open_ones", "asking", "words"),
    [
        (0, 0, "No complaint is open."),
        (1, 1, "One complaint is open, since 1 Mar 2025; it asks for a check."),
        (1, 0, "One complaint is open, since 1 Mar 2025; it asks for no check."),
        (7, 5, "Seven complaints are open, the oldest since 1 Mar 2025; five of them ask for a check."),
        (7, 1, "Seven complaints are open, the oldest since 1 Mar 2025; one of them asks for a check."),
        (7, 0, "Seven complaints are open, the oldest since 1 Mar 2025; no of them ask for a check."),
    ],
)
def test_the_lists_sentence(open_ones, asking, words):
    assert list_sentence(open_ones, RAISED, asking) == words.replace("no of them ask", "none of them asks")


def test_a_complaints_page_shows_its_sentence_picture_and_answer(bay, signed_in, no_writes):
    row = complaint(bay)
    check = record_check(user=bay.technician, submission=bay.submission())
    fuel(bay, month_of(RAISED) + 1, [0.1] * 12)
    settle_complaint(user=bay.manager, complaint=row, finding="Brake dragged.", check=check.pk)
    client, address = signed_in(bay.viewer), reverse("reports:complaint", args=[row.pk])
    with no_writes():
        page = client.get(address).content.decode()
    for words in ("was checked on 4 Mar 2025", "Brake dragged.", "figure-complaint", "the check of 4 Mar 2025"):
        assert words in page
    assert "Next:" not in page
    assert reverse("checks:complaint_close", args=[row.pk]) not in page


def test_one_complaint_costs_the_same_with_many_checks_and_months(bay, signed_in, django_assert_max_num_queries):
    row = complaint(bay)
    fuel(bay, month_of(RAISED) + 1, [0.1] * 20)
    for _ in range(3):
        record_check(user=bay.technician, submission=bay.submission())
    client, address = signed_in(bay.manager), reverse("reports:complaint", args=[row.pk])
    client.get(address)
    with django_assert_max_num_queries(32):
        client.get(address)


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
