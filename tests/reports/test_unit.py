"""The unit page tells where a turbocharger was and how its readings moved."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Complaint, MeterReading, Note
from reports.selectors.unit import unit_page
from reports.selectors.usage import Stay, run_at
from reports.sentences.unit import unit_sentence
from tests.bay import make_bay
from tests.factories import EngineFactory, FitmentFactory, InstallationFactory, TruckFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db


def stays(*spans):
    """Stays numbered from 1, a year apart."""
    return [Stay(fitment=i, began=date(2020 + i, 1, 1), from_km=a, to_km=b) for i, (a, b) in enumerate(spans, start=1)]


def test_distance_run_adds_up_over_engines():
    """By hand: 30,000 km on the first engine and 12,000 km on the second."""
    assert run_at(stays((100_000, 130_000), (5_000, None)), 2, 17_000) == 42_000


@pytest.mark.parametrize(
    ("spans", "fitment", "odometer"),
    [
        (((100_000, None), (5_000, None)), 2, 17_000),  # an earlier odometer was not read
        (((None, None),), 1, 17_000),
        (((5_000, None),), 1, None),
        (((5_000, None),), 1, 4_000),  # the odometer was replaced
        (((5_000, None),), None, 17_000),  # checked on the bench
    ],
)
def test_distance_run_is_not_guessed(spans, fitment, odometer):
    assert run_at(stays(*spans), fitment, odometer) is None


def test_the_sentence_says_since_when_how_far_and_when_next(checked, today):
    bay = make_bay()
    bay.turbocharger.fitments.update(fitted_odometer_km=100_000)
    checked(bay, days_ago=30)
    found = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    sentence = unit_sentence(found)
    assert sentence.startswith("Fitted 1 Mar 2022, 103,000 km run. See it by ")
    assert "at most 120,000 km are run between checks" in sentence


def test_a_unit_that_was_never_checked_or_planned_says_so(today):
    bay = make_bay()
    spare = TurbochargerFactory(depot=bay.depot)
    found = unit_page(user=bay.viewer, pk=spare.pk, today=today)
    assert unit_sentence(found) == (
        "In stock, fitted to no engine. It came in just now: the day to see it stands here within a minute."
    )
    assert (found.checks, found.outlook.drift_figure, found.curve, found.strip) == ([], None, None, None)
    assert found.state == "never_checked"


def test_history_follows_the_turbocharger_from_engine_to_engine(today):
    bay = make_bay()
    bay.turbocharger.fitments.update(
        removed_on=date(2024, 5, 1), fitted_odometer_km=1_000, removed_odometer_km=90_000, removal_reason="swap"
    )
    truck = TruckFactory(depot=bay.depot)
    engine = EngineFactory(depot=bay.depot)
    InstallationFactory(truck=truck, engine=engine)
    FitmentFactory(turbocharger=bay.turbocharger, engine=engine, fitted_on=date(2024, 5, 2), fitted_odometer_km=200_000)
    MeterReading.objects.create(truck=truck, read_at="2025-01-01T00:00Z", odometer_km=210_000)
    found = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    assert [row.trucks for row in found.fitments] == [(truck,), (bay.truck,)]
    assert (found.name, found.run) == (truck.unit_number, "99,000 km")


def test_complaints_count_only_while_the_truck_carried_the_unit(today):
    bay = make_bay()
    for raised_on in (date(2021, 6, 1), date(2023, 6, 1)):
        Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on=raised_on, raised_by="driver")
    found = unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
    assert [row.raised_on for row in found.complaints] == [date(2023, 6, 1)]


def test_the_page_shows_flag_notes_and_one_way_to_start_a_check(checked, signed_in):
    bay = make_bay()
    checked(bay)
    bay.turbocharger.safety_flag = "Canister maximum exceeded"
    bay.turbocharger.save()
    Note.objects.create(turbocharger=bay.turbocharger, author=bay.technician, text="Pin replaced <i>")
    address = reverse("reports:unit", args=[bay.turbocharger.pk])
    text = signed_in(bay.technician).get(address).content.decode()
    for shown in ("Inspect before the next check", "Canister maximum exceeded", "Pin replaced &lt;i&gt;"):
        assert shown in text
    begin = f'action="{reverse("checks:begin", args=[bay.turbocharger.pk])}"'
    assert text.count(begin) == 1
    assert begin not in signed_in(bay.viewer).get(address).content.decode()


def test_a_unit_of_another_depot_is_not_found(signed_in):
    bay, other = make_bay(), make_bay()
    address = reverse("reports:unit", args=[bay.turbocharger.pk])
    assert signed_in(other.manager).get(address).status_code == 404
    assert signed_in(None).get(address).status_code == 302


@pytest.mark.parametrize("asked", ["x", "-1", "99999999999999999999", "²", ""])
def test_nonsense_in_the_address_shows_the_latest_curve(checked, signed_in, asked):
    bay = make_bay()
    checked(bay)
    address = reverse("reports:unit", args=[bay.turbocharger.pk])
    assert signed_in(bay.viewer).get(address, {"curve": asked}).status_code == 200


def test_the_number_of_queries_stays_with_a_longer_history(checked, today, no_writes):
    bay = make_bay()
    checked(bay, days_ago=200)

    def cost():
        with CaptureQueriesContext(connection) as captured, no_writes():
            unit_page(user=bay.viewer, pk=bay.turbocharger.pk, today=today)
        return len(captured)

    few = cost()
    for days in (150, 100, 50):
        checked(bay, days_ago=days, travel="95", left="59")
    assert cost() == few <= 20


def test_overdue_stands_beside_the_state(checked, signed_in, today):
    bay = make_bay()
    checked(bay)
    bay.turbocharger.refresh_from_db()
    standing = bay.turbocharger.standing
    standing.due_on = today - timedelta(days=1)
    standing.save()
    text = signed_in(bay.viewer).get(reverse("reports:unit", args=[bay.turbocharger.pk])).content.decode()
    assert "state inside" in text
    assert "state overdue" in text
