"""Readings of a study: entered, amended, set aside, and what comes of them."""

import pytest
from django.db import IntegrityError, transaction

from checks.models import StudyReading
from checks.selectors.study import row_of, studies_visible, table_of, told_of
from checks.services.entry import Doubts
from checks.services.study import amend_reading, enter_reading, set_study_aside
from checks.services.study_plan import plan_study
from tests.bay import person
from tests.checks.services.studies.refusals import refused
from tests.studies import plan_entry, planned_study, read_study

pytestmark = pytest.mark.django_db


def state_of(study):
    return row_of(studies_visible(study.planned_by).get(pk=study.pk)).state


def test_a_reading_keeps_what_was_typed_beside_its_millimetres(bay):
    study = planned_study(bay)
    row = enter_reading(author=bay.technician, study=study, place=3, entry={"travel": [" 59,5 ", "thou"]})
    assert (row.typed, row.unit, row.entered_by) == ("59,5", "thou", bay.technician)
    assert row.travel_mm == pytest.approx(1.5113)
    assert state_of(study) == "being_read"


def test_what_is_no_travel_is_refused(bay):
    study = planned_study(bay)
    for text, code in (("", "required"), ("abc", "not_a_number"), ("-1", "out_of_bounds"), ("101", "out_of_bounds")):
        found = refused(
            enter_reading,
            author=bay.technician,
            study=study,
            place=1,
            entry={"travel": [text, "mm"], "confirmed": True},
        )
        assert found == {code: "travel"}
    found = refused(
        enter_reading, author=bay.technician, study=study, place=1, entry={"travel": ["1." + "5" * 23, "mm"]}
    )
    assert found == {"too_long": "travel"}
    assert refused(enter_reading, author=bay.technician, study=study, place=99, entry={"travel": ["1", "mm"]}) == {
        "no_such_place": "place"
    }


def test_a_reading_sent_twice_is_one_and_another_in_its_place_is_refused(bay):
    study = planned_study(bay)
    first = enter_reading(author=bay.technician, study=study, place=1, entry={"travel": ["1.5", "mm"]})
    assert enter_reading(author=bay.manager, study=study, place=1, entry={"travel": ["1.5", "mm"]}) == first
    found = refused(enter_reading, author=bay.technician, study=study, place=1, entry={"travel": ["1.6", "mm"]})
    assert found == {"reading_entered": "travel"}


def test_a_reading_far_from_the_others_of_its_part_is_asked_about_without_saying_what_they_were(bay):
    study = planned_study(bay)
    first, second = study.readings.filter(part__number=2)[:2]
    enter_reading(author=bay.technician, study=study, place=first.place, entry={"travel": ["1.234", "mm"]})
    with pytest.raises(Doubts) as doubts:
        enter_reading(author=bay.technician, study=study, place=second.place, entry={"travel": ["12.34", "mm"]})
    assert "1.234" not in str(doubts.value)
    enter_reading(
        author=bay.technician, study=study, place=second.place, entry={"travel": ["12.34", "mm"], "confirmed": True}
    )


def test_an_amended_reading_keeps_what_stood_there(bay):
    study = planned_study(bay)
    enter_reading(author=bay.technician, study=study, place=1, entry={"travel": ["1.5", "mm"]})
    entry = {"travel": ["1.51", "mm"], "reason": "misread the revolution"}
    row = amend_reading(author=bay.technician, study=study, place=1, entry=entry)
    told = row.amendments.get()
    assert (row.travel_mm, told.old_value, told.new_value, told.author) == (1.51, "1.5 mm", "1.51 mm", bay.technician)
    assert refused(
        amend_reading, author=bay.technician, study=study, place=1, entry={"travel": ["1.52", "mm"], "reason": " "}
    ) == {"required": "reason"}
    assert refused(amend_reading, author=bay.technician, study=study, place=2, entry=entry) == {
        "reading_not_entered": ""
    }


def test_a_reading_that_was_not_made_is_taken_back_with_a_reason_and_is_missing_again(bay):
    study = planned_study(bay)
    enter_reading(author=bay.technician, study=study, place=1, entry={"travel": ["1.5", "mm"]})
    row = amend_reading(
        author=bay.technician, study=study, place=1, entry={"travel": ["", "mm"], "reason": "another part was on"}
    )
    assert (row.travel_mm, row.typed, row.entered_by) == (None, "", None)
    assert row.amendments.get().new_value == ""
    assert state_of(study) == "planned"


def test_a_study_with_a_reading_missing_says_which_and_has_no_analysis(bay):
    study = read_study(bay, planned_study(bay), but=1)
    last = study.readings.last()
    told = told_of(study)
    assert (told.analysis, told.code) == (None, "study_incomplete")
    assert told.refusal.startswith(
        f"1 of 20 readings is missing: {last.part} by {last.technician.display_name}, trial {last.trial}."
    )


def test_the_table_puts_each_reading_at_its_part_technician_and_trial(bay):
    study = read_study(bay, planned_study(bay))
    table = table_of(study)
    assert table.values.shape == (5, 2, 2)
    for row in study.readings.select_related("part"):
        at = row.part.number - 1, table.technicians.index(row.technician), row.trial - 1
        assert table.values[at] == row.travel_mm


def test_the_analysis_recovers_what_the_readings_were_made_of(bay):
    """Known truth: repeats of 0.01 mm; 24 degrees of freedom leave it within 0.007 to 0.014 in 99 %."""
    people = [bay.technician, bay.manager, person(bay.depot, "technician")]
    entry = plan_entry(bay, people, parts=8, trials=2)
    study = read_study(bay, plan_study(author=bay.manager, depot=bay.depot, entry=entry))
    analysis = told_of(study).analysis
    assert 0.007 < analysis.repeatability < 0.014
    assert analysis.categories >= 5
    limits = study.specification
    window = limits.upper_mm - limits.lower_mm
    assert analysis.share_of_window["measurement"] == pytest.approx(600 * analysis.measurement / window)


def test_a_study_set_aside_stays_readable_and_takes_nothing_more(bay):
    study = planned_study(bay)
    assert refused(set_study_aside, author=bay.technician, study=study, entry={"reason": "x"}) == {"not_allowed": ""}
    assert refused(set_study_aside, author=bay.manager, study=study, entry={"reason": ""}) == {"required": "reason"}
    set_study_aside(author=bay.manager, study=study, entry={"reason": "A bench unit broke."})
    assert state_of(study) == "set_aside"
    found = refused(enter_reading, author=bay.technician, study=study, place=1, entry={"travel": ["1.5", "mm"]})
    assert found == {"study_set_aside": ""}


@pytest.mark.parametrize(
    "wrong",
    [
        {"travel_mm": 1.5},
        {"typed": "1.5", "unit": "mm"},
        {"place": 2},
        {"trial": 0},
        {"travel_mm": -1.0},
    ],
)
def test_the_database_refuses_half_a_reading_and_two_in_one_place(bay, wrong):
    study = planned_study(bay)
    with pytest.raises(IntegrityError), transaction.atomic():
        StudyReading.objects.filter(study=study, place=1).update(**wrong)
