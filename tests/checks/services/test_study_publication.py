"""Publishing a study: what counts from when, who may, and that nothing is overwritten."""

import uuid
from datetime import UTC, datetime

import pytest
from django.db import IntegrityError, transaction

from checks.models import Publication
from checks.selectors.study import row_of, studies, studies_visible, told_of
from checks.services.study import amend_reading, set_study_aside
from checks.services.study_publication import publish_study, withdraw_publication
from fleet.problems import FleetError
from tests.bay import make_bay
from tests.studies import planned_study, read_study

pytestmark = pytest.mark.django_db
MARCH, APRIL, MAY = (datetime(2025, month, 1, tzinfo=UTC) for month in (3, 4, 5))


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def study(bay):
    return read_study(bay, planned_study(bay))


def code_of(act, **options):
    with pytest.raises(FleetError) as error:
        act(**options)
    return error.value.code


def state_of(bay, study):
    return row_of(studies_visible(bay.manager).get(pk=study.pk)).state


def test_a_publication_carries_the_figures_of_the_analysis(bay, study):
    row = publish_study(study=study, user=bay.manager, reason="The first study of this bay.", at=MARCH)
    figures = told_of(study).analysis.figures()
    assert (row.repeatability_mm, row.repeatability_dof) == (figures.repeatability_mm, figures.repeatability_dof)
    assert (row.reproducibility_mm, row.reproducibility_dof) == (
        figures.reproducibility_mm,
        figures.reproducibility_dof,
    )
    assert (row.depot, row.stimulus, row.counts_from, row.ended_at) == (bay.depot, "pneumatic", MARCH, None)
    assert state_of(bay, study) == "published"


def test_it_takes_a_manager_of_the_depot_and_a_reason(bay, study):
    assert code_of(publish_study, study=study, user=bay.technician, reason="x") == "not_allowed"
    assert code_of(publish_study, study=study, user=make_bay().manager, reason="x") == "not_allowed"
    assert code_of(publish_study, study=study, user=bay.manager, reason="  ") == "reason_missing"
    assert code_of(publish_study, study=study, user=bay.manager, reason="x" * 401) == "too_long"
    assert not Publication.objects.exists()


def test_an_incomplete_study_is_refused_with_what_is_missing(bay):
    study = read_study(bay, planned_study(bay), but=2)
    with pytest.raises(FleetError) as error:
        publish_study(study=study, user=bay.manager, reason="x")
    assert (error.value.code, error.value.status) == ("study_incomplete", 409)
    assert "2 of 20 readings are missing" in error.value.sentence


def test_readings_that_are_all_alike_are_refused(bay):
    study = planned_study(bay)
    study.readings.update(travel_mm=1.5, typed="1.5", unit="mm", entered_by=bay.technician, entered_at=MARCH)
    assert code_of(publish_study, study=study, user=bay.manager, reason="x") == "study_flat"


def test_a_study_set_aside_is_refused(bay, study):
    set_study_aside(author=bay.manager, study=study, entry={"reason": "The dial slipped."})
    assert code_of(publish_study, study=study, user=bay.manager, reason="x") == "study_set_aside"


def test_publishing_twice_with_one_key_is_once_and_without_is_refused(bay, study):
    key = uuid.uuid4()
    first = publish_study(study=study, user=bay.manager, reason="x", key=key)
    assert publish_study(study=study, user=bay.manager, reason="x", key=key) == first
    assert code_of(publish_study, study=study, user=bay.manager, reason="x") == "study_counts_already"


def test_a_later_study_takes_its_place_and_the_earlier_one_stays_on_record(bay, study):
    first = publish_study(study=study, user=bay.manager, reason="The first.", at=MARCH)
    later = read_study(bay, planned_study(bay, name="Second"), seed=2)
    second = publish_study(study=later, user=bay.manager, reason="New gauge.", at=APRIL)
    first.refresh_from_db()
    assert (first.ended_at, first.replaced_by, second.ended_at) == (APRIL, second, None)
    assert "New gauge." in first.ended_reason
    assert (state_of(bay, study), state_of(bay, later)) == ("replaced", "published")


def test_a_withdrawal_ends_it_with_a_reason_and_leaves_its_figures(bay, study):
    row = publish_study(study=study, user=bay.manager, reason="x", at=MARCH)
    before = row.repeatability_mm
    assert code_of(withdraw_publication, publication=row, user=bay.technician, reason="x") == "not_allowed"
    assert code_of(withdraw_publication, publication=row, user=bay.manager, reason="") == "reason_missing"
    withdraw_publication(publication=row, user=bay.manager, reason="A technician left.", at=MAY)
    row.refresh_from_db()
    assert (row.ended_at, row.ended_by, row.repeatability_mm) == (MAY, bay.manager, before)
    assert state_of(bay, study) == "withdrawn"
    assert code_of(withdraw_publication, publication=row, user=bay.manager, reason="x") == "publication_ended"


def test_a_withdrawn_study_may_be_published_again_as_a_row_of_its_own(bay, study):
    row = publish_study(study=study, user=bay.manager, reason="x", at=MARCH)
    withdraw_publication(publication=row, user=bay.manager, reason="In error.", at=APRIL)
    again = publish_study(study=study, user=bay.manager, reason="It was right.", at=MAY)
    assert again.pk != row.pk
    assert study.publications.count() == 2


def test_nothing_is_published_before_what_counts_already(bay, study):
    publish_study(study=study, user=bay.manager, reason="x", at=MAY)
    later = read_study(bay, planned_study(bay, name="Second"))
    assert code_of(publish_study, study=later, user=bay.manager, reason="x", at=MARCH) == "counts_later"


def test_a_published_reading_is_not_amended_before_the_publication_is_withdrawn(bay, study):
    row = publish_study(study=study, user=bay.manager, reason="x")
    entry = {"travel": ["1.6", "mm"], "reason": "misread"}
    assert code_of(amend_reading, author=bay.technician, study=study, place=1, entry=entry) == "study_published"
    assert code_of(set_study_aside, author=bay.manager, study=study, entry={"reason": "x"}) == "study_published"
    withdraw_publication(publication=row, user=bay.manager, reason="A reading was wrong.")
    amend_reading(author=bay.technician, study=study, place=1, entry=entry)


def test_the_database_holds_one_counting_publication_per_depot_and_kind_of_actuator(bay, study):
    row = publish_study(study=study, user=bay.manager, reason="x", at=MARCH)
    row.pk, row.key = None, uuid.uuid4()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    "wrong", [{"reason": ""}, {"ended_at": APRIL}, {"repeatability_mm": -1.0}, {"repeatability_dof": 0.5}]
)
def test_the_database_refuses_a_publication_without_reason_end_or_sense(bay, study, wrong):
    row = publish_study(study=study, user=bay.manager, reason="x", at=MARCH)
    with pytest.raises(IntegrityError), transaction.atomic():
        Publication.objects.filter(pk=row.pk).update(**wrong)


def test_studies_of_depots_until_a_day(bay, study, django_assert_num_queries):
    with django_assert_num_queries(2):
        rows = studies([bay.depot], until=datetime(2025, 3, 31, tzinfo=UTC).date())
    assert [row.study for row in rows] == [study]
    assert studies([bay.depot], until=datetime(2025, 3, 1, tzinfo=UTC).date()) == []
