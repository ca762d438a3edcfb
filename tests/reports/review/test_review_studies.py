"""Measurement studies in the review: as they stood at the month's end, in numbers and a sentence."""

from datetime import UTC, date, datetime

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.measurement.study import analyse
from checks.models import StudyReading
from checks.services.study_publication import publish_study, withdraw_publication
from reports.review.month import Month
from reports.review.records import read_records
from reports.review.studies import depot_table, study_table
from reports.review.summary import studies as sentences
from tests.bay import make_bay
from tests.reviews import MARCH
from tests.studies import scattered, study_of

pytestmark = pytest.mark.django_db
FEBRUARY = Month(date(2025, 2, 1))
TRUE = np.random.default_rng(1).normal(1.5, 0.15, 8)


def said(month, depot=None, scope="the fleet"):
    records = read_records(month, depot)
    return list(sentences({made.name: made for made in (study_table(records), depot_table(records))}, month, scope))


def at(month, day):
    return datetime(2025, month, day, 12, tzinfo=UTC)


ENTERED = at(2, 4)


def read(bay, offset, seed, **more):
    study = study_of(bay, scattered(seed=seed, shape=(8, 3, 2), technician=0.005, parts=TRUE + offset), **more)
    StudyReading.objects.filter(study=study).update(entered_at=ENTERED)
    return study


@pytest.fixture
def depots():
    """Three depots that read the same units on 3 Feb 2025; the second reads 0.1 mm high."""
    first = make_bay()
    made = [first, make_bay(), make_bay()]
    for bay in made:
        bay.specification = first.specification
    for seed, (bay, offset) in enumerate(zip(made, (0.0, 0.1, 0.0), strict=True)):
        read(bay, offset, seed)
    return made


def test_a_study_is_told_in_numbers_and_by_how_far_it_was(depots):
    study = depots[0].depot.studies.get()
    publish_study(study=study, user=depots[0].manager, reason="First study.", at=at(3, 10))
    values = scattered(seed=0, shape=(8, 3, 2), technician=0.005, parts=TRUE)
    limits = depots[0].specification
    peer = analyse(values, window=limits.upper_mm - limits.lower_mm)
    states = {}
    for month in (FEBRUARY, MARCH):
        row = next(r for r in study_table(read_records(month, None)).named() if r["depot"] == depots[0].depot.name)
        states[month] = (row["state"], row["counts_from"])
    assert states == {FEBRUARY: ("read, not published", ""), MARCH: ("published", "2025-03-10")}
    assert row["repeatability"] == f"{peer.repeatability:.4f}"
    assert row["window_share"] == f"{peer.share_of_window['measurement']:.0f}"
    assert (row["parts"], row["technicians"], row["trials"]) == ("8", "3", "2")


def test_a_withdrawal_shows_from_its_month_on(depots):
    study = depots[0].depot.studies.get()
    publication = publish_study(study=study, user=depots[0].manager, reason="First study.", at=at(2, 10))
    withdraw_publication(publication=publication, user=depots[0].manager, reason="Mixed up.", at=at(3, 20))
    held = {
        month: next(r for r in study_table(read_records(month, None)).named() if r["counts_from"])
        for month in (FEBRUARY, MARCH)
    }
    assert (held[FEBRUARY]["state"], held[FEBRUARY]["ended_on"]) == ("published", "")
    assert (held[MARCH]["state"], held[MARCH]["ended_on"]) == ("no longer published", "2025-03-20")


def test_the_odd_depot_is_named_with_its_limits(depots):
    row = next(r for r in depot_table(read_records(FEBRUARY, None)).named() if r["said"] == "stands out")
    odd = depots[1].depot.name
    assert row["depot"] == odd
    assert float(row["difference_low_limit"]) < 0.1 < float(row["difference_high_limit"])
    told = said(FEBRUARY)
    assert told[0] == (
        f"{odd} reads {row['difference']} mm more than the other depots that agree, on the same 8 units of "
        f"{depots[0].specification.turbocharger_model} ({row['difference_low_limit']} to "
        f"{row['difference_high_limit']} mm)."
    )


def test_a_depot_that_reads_low_is_told_without_signs(depots):
    read(depots[1], -0.1, 9, name="Later", planned_for=date(2025, 2, 20))
    told = said(FEBRUARY)
    assert " mm less than " in told[0]
    assert "-" not in told[0].split("units of")[0]


def test_published_depots_are_named_in_a_sentence(depots):
    assert len(said(MARCH)) == 1
    publish_study(study=depots[2].depot.studies.get(), user=depots[2].manager, reason="First.", at=at(3, 1))
    assert said(MARCH)[1].startswith(f"Verdicts of {depots[2].depot.name} rest on a published measurement study")


def test_a_depots_review_names_no_other(depots):
    records = read_records(MARCH, depots[1].depot)
    names = {cell for made in (study_table(records), depot_table(records)) for row in made.rows for cell in row}
    assert depots[1].depot.name in names
    assert not names & {depots[0].depot.name, depots[2].depot.name}
    assert said(MARCH, depots[1].depot)[0].startswith(f"{depots[1].depot.name} reads")


def test_readings_entered_after_the_month_are_none_of_its_business(depots):
    StudyReading.objects.filter(study__depot=depots[1].depot).update(entered_at=at(3, 2))
    assert "stands out" not in {row["said"] for row in depot_table(read_records(FEBRUARY, None)).named()}
    assert "stands out" in {row["said"] for row in depot_table(read_records(MARCH, None)).named()}


def test_an_old_study_is_left_out_unless_it_counts(depots):
    later = Month(date(2026, 6, 1))
    assert study_table(read_records(later, None)).named() == []
    publish_study(study=depots[0].depot.studies.get(), user=depots[0].manager, reason="First.", at=at(3, 1))
    assert [row["depot"] for row in study_table(read_records(later, None)).named()] == [depots[0].depot.name]


def test_many_studies_cost_as_many_queries_as_few(depots):
    def queries():
        records = read_records(MARCH, None)
        with CaptureQueriesContext(connection) as counted:
            study_table(records), depot_table(records)
        return len(counted)

    few = queries()
    for seed, bay in enumerate(depots, start=20):
        read(bay, 0.0, seed, name="Another", planned_for=date(2025, 2, 10))
    assert queries() == few


def test_a_fleet_without_studies_says_nothing_of_them():
    assert said(MARCH) == []
