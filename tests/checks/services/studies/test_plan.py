"""Measurement studies are planned, each reading once in a drawn order."""

import uuid

import numpy as np
import pytest

from checks.models import Study
from checks.selectors.study import row_of, studies_visible, table_of
from checks.services.entry import Doubts
from checks.services.study import enter_reading
from checks.services.study_plan import plan_study
from tests.bay import make_bay
from tests.checks.services.studies.refusals import refused
from tests.factories import CommandToolFactory, TurbochargerFactory
from tests.studies import plan_entry, planned_study

pytestmark = pytest.mark.django_db


def test_a_plan_holds_every_reading_once_in_an_order_that_its_seed_gives_again(bay):
    study = planned_study(bay, parts=6, trials=3)
    again = planned_study(bay, parts=6, trials=3, name="Again")
    other = planned_study(bay, parts=6, trials=3, name="Other", seed="8")

    def order(one):
        return [(row.part.number, row.technician_id, row.trial) for row in one.readings.select_related("part")]

    assert len(order(study)) == len(set(order(study))) == 6 * 2 * 3
    assert order(study) == order(again) != order(other)
    assert study.readings.first().part.turbocharger is None or study.parts.get(number=1).turbocharger
    assert [part.turbocharger for part in study.parts.all()] == [bay.turbocharger, None, None, None, None, None]


def test_without_a_seed_each_plan_draws_its_own(bay):
    assert planned_study(bay, seed="").seed != planned_study(bay, seed="", name="Another").seed


def test_the_same_plan_sent_twice_is_one(bay):
    key, entry = uuid.uuid4(), plan_entry(bay, [bay.technician, bay.manager])
    first = plan_study(author=bay.manager, depot=bay.depot, entry=entry, key=key)
    assert plan_study(author=bay.manager, depot=bay.depot, entry=entry, key=key) == first
    assert Study.objects.count() == 1


def test_every_wrong_field_of_a_plan_is_told_at_once(bay):
    other = TurbochargerFactory(depot=bay.depot)
    entry = plan_entry(
        bay,
        [bay.technician],
        name="",
        turbochargers=f"{other.serial}\nnot-here",
        bench_units="",
        trials="1",
        dial="",
        stimulus_instrument=str(CommandToolFactory(depot=bay.depot).pk),
    )
    found = refused(plan_study, author=bay.manager, depot=bay.depot, entry=entry)
    assert found == {
        "required": "name",
        "not_whole": "trials",
        "other_model": "turbochargers",
        "unknown_serial": "turbochargers",
        "technicians_count": "technicians",
        "no_such_instrument": "dial",
        "wrong_kind": "stimulus_instrument",
    }
    assert not Study.objects.exists()


def test_parts_are_named_once_and_two_at_least(bay):
    people = [bay.technician, bay.manager]
    twice = plan_entry(bay, people, turbochargers="", bench_units="Bench 1\nbench 1")
    assert "part_twice" in refused(plan_study, author=bay.manager, depot=bay.depot, entry=twice)
    one = plan_entry(bay, people, bench_units="")
    assert "parts_count" in refused(plan_study, author=bay.manager, depot=bay.depot, entry=one)


def test_people_and_instruments_of_other_depots_do_not_count(bay):
    there = make_bay()
    entry = plan_entry(bay, [bay.technician, there.technician], dial=str(there.dial.pk))
    found = refused(plan_study, author=bay.manager, depot=bay.depot, entry=entry)
    assert found == {"not_of_depot": "technicians", "no_such_instrument": "dial"}


def test_a_small_study_and_instruments_out_of_date_are_asked_about(bay):
    bay.gauge.certificates.update(due_on="2025-01-01")
    entry = plan_entry(bay, [bay.technician, bay.manager], parts=3, confirmed=False)
    with pytest.raises(Doubts) as doubts:
        plan_study(author=bay.manager, depot=bay.depot, entry=entry)
    assert [one.code for one in doubts.value.errors] == ["study_small", "out_of_calibration"]
    assert not Study.objects.exists()


def test_a_name_is_taken_once_at_a_depot(bay):
    planned_study(bay)
    entry = plan_entry(bay, [bay.technician, bay.manager])
    assert refused(plan_study, author=bay.manager, depot=bay.depot, entry=entry) == {"study_name_once": "name"}


def test_a_manager_plans_and_a_technician_enters(bay):
    entry = plan_entry(bay, [bay.technician, bay.manager])
    assert refused(plan_study, author=bay.technician, depot=bay.depot, entry=entry) == {"not_allowed": ""}
    study, travel = planned_study(bay), {"travel": ["1.5", "mm"]}
    assert refused(enter_reading, author=bay.viewer, study=study, place=1, entry=travel) == {"not_allowed": ""}
    stranger = make_bay().technician
    assert refused(enter_reading, author=stranger, study=study, place=1, entry=travel) == {"not_allowed": ""}
    assert enter_reading(author=bay.technician, study=study, place=1, entry=travel).travel_mm == 1.5


def test_a_list_costs_the_same_with_many_studies_as_with_one(bay, django_assert_num_queries):
    for number in range(4):
        planned_study(bay, name=f"Study {number}")
    with django_assert_num_queries(2):
        rows = [row_of(study) for study in studies_visible(bay.viewer)]
    assert {(row.parts, row.technicians, row.readings, row.entered) for row in rows} == {(5, 2, 20, 0)}
    assert not studies_visible(make_bay().viewer).exists()
    assert np.isnan(table_of(rows[0].study).values).all()
