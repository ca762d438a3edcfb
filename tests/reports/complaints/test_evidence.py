"""What the records say of one complaint: how sure, and what to do next."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from checks.selectors.days import month_of
from checks.selectors.evidence import weighed
from checks.services.check import record_check
from checks.services.complaint import file_complaint
from reports.sentences.complaints import next_sentence, sure_sentence
from reports.sentences.evidence import evidence_sentence
from tests.factories import DriftFitFactory, ForecastFactory, TruckFactory
from tests.reports.complaints.complaining import RAISED, complaint, fuel

pytestmark = pytest.mark.django_db


def said_of(row):
    """The evidence, how sure, and what next."""
    found = weighed(row)
    return evidence_sentence(found, row, "mm"), sure_sentence(found.evidence), next_sentence(found, row)


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
