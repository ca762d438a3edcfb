"""A specification that cannot be right is refused in words, and a doubtful one is asked about."""

import pytest

from checks.models import SpecificationRevision
from checks.services.entry import Doubts
from fleet.problems import FleetError, FleetErrors
from tests.checks.registers.added_specification import add

pytestmark = pytest.mark.django_db


def refused(author, model, **changes):
    """Field to code of every fault."""
    with pytest.raises(FleetErrors) as caught:
        add(author, model, **changes)
    assert not SpecificationRevision.objects.exists()
    return {fault.field: fault.code for fault in caught.value.errors}


@pytest.mark.parametrize("text", ["NaN", "inf", "1e9", "thirty-one", "31 psi", "--3", "3.1.0", "1" * 300])
def test_what_is_no_number_is_refused_at_its_field(manager, pneumatic, text):
    assert refused(manager, pneumatic, setting=[text, "psi"])["setting"] == "not_a_number"


@pytest.mark.parametrize(
    ("field", "typed", "code"),
    [
        ("setting", ["", "psi"], "required"),
        ("setting", ["-3", "psi"], "out_of_bounds"),
        ("setting", ["31", "mm"], "unit_unknown"),
        ("setting", ["31", "%"], "unit_unknown"),
        ("stimulus_max", ["300", "psi"], "out_of_bounds"),
        ("upper_mm", ["1000000000", "mm"], "out_of_bounds"),
        ("lower_mm", ["38", "in"], "out_of_bounds"),
        ("thread_pitch_mm", ["0", "threads per inch"], "out_of_bounds"),
        ("exercise_cycles", "eleven", "not_whole"),
        ("exercise_cycles", "11", "not_whole"),
        ("adjustment_range_half_turns", "2.5", "not_whole"),
        ("adjustment_sign", "0", "not_a_choice"),
        ("effective_from", "14.3.2024", "not_a_date"),
        ("effective_from", "", "required"),
        ("effective_from", "2324-01-01", "out_of_bounds"),
        ("revision", " ", "required"),
        ("revision", "x" * 21, "too_long"),
        ("source_document", "", "required"),
        ("note", "a\x00b", "bad_character"),
    ],
)
def test_each_wrong_field_is_named(manager, pneumatic, field, typed, code):
    assert refused(manager, pneumatic, **{field: typed}) == {field: code}


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"lower_mm": ["0.07", "in"]}, "nominal_mm", "limits_in_order"),
        ({"nominal_mm": ["0.09", "in"]}, "nominal_mm", "limits_in_order"),
        ({"capture_tolerance": ["4", "psi"]}, "capture_tolerance", "capture_tolerance_plausible"),
    ],
)
def test_a_rule_of_the_database_speaks_at_its_field(manager, pneumatic, changes, field, code):
    assert refused(manager, pneumatic, **changes)[field] == code


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"setting": ["43", "psi"]}, "setting", "setting_below_maximum"),
        ({"stimulus_max": ["2,1", "bar"]}, "setting", "setting_below_maximum"),
        ({"zero_tolerance_mm": ["0", "mm"]}, "zero_tolerance_mm", "zero_tolerances_positive"),
        ({"zero_tolerance_stimulus": ["0", "psi"]}, "zero_tolerance_stimulus", "zero_tolerances_positive"),
        ({"zero_tolerance_mm": ["42", "thou"]}, "zero_tolerance_mm", "zero_wider_than_window"),
    ],
)
def test_what_could_judge_no_reading_is_refused_at_its_field(manager, pneumatic, changes, field, code):
    assert refused(manager, pneumatic, **changes) == {field: code}


def test_a_pressure_above_the_maximum_is_told_as_both_were_typed(manager, pneumatic):
    with pytest.raises(FleetErrors, match="31 psi is not below the canister maximum of 2,1 bar"):
        add(manager, pneumatic, stimulus_max=["2,1", "bar"])


def test_an_electric_actuator_may_be_set_at_its_highest_command_and_not_beyond(manager, electric):
    command = {"setting": ["100", "%"], "stimulus_max": ["100", "%"], "zero_tolerance_stimulus": ["0.5", "%"]}
    beyond = refused(manager, electric, **command | {"stimulus_max": ["95", "%"]})
    assert beyond == {"setting": "setting_below_maximum"}
    assert add(manager, electric, **command).setting == 100


def test_every_fault_is_told_at_once(manager, pneumatic):
    found = refused(manager, pneumatic, setting=["x", "psi"], lower_mm=["", "mm"], revision="")
    assert set(found) == {"setting", "lower_mm", "revision"}


def test_two_revisions_may_not_take_effect_on_the_same_day(manager, pneumatic):
    add(manager, pneumatic)
    with pytest.raises(FleetErrors, match="same day") as caught:
        add(manager, pneumatic, revision="B")
    assert [fault.field for fault in caught.value.errors] == ["effective_from"]


def test_a_revision_name_is_used_once_for_a_model(manager, pneumatic, electric):
    add(manager, pneumatic)
    with pytest.raises(FleetErrors) as caught:
        add(manager, pneumatic, effective_from="2025-01-01")
    assert [fault.field for fault in caught.value.errors] == ["revision"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"setting": ["31", "kPa"], "capture_tolerance": ["1", "kPa"]}, "setting_far_below_maximum"),
        ({"setting": ["31", "kPa"], "capture_tolerance": ["1", "kPa"]}, "mixed_units"),
        ({"nominal_mm": ["1.5", "mm"]}, "mixed_units"),
        ({"upper_mm": ["80", "mm"], "nominal_mm": ["59", "mm"], "lower_mm": ["38", "mm"]}, "unusual_travel"),
        ({"zero_tolerance_stimulus": ["2", "psi"]}, "wide_zero"),
        ({"thread_pitch_mm": ["4.9", "mm"]}, "unusual_pitch"),
        ({"setting": ["42.5", "psi"], "capture_tolerance": ["1", "psi"]}, "capture_beyond_maximum"),
        ({"upper_mm": ["0.80", "in"]}, "lopsided_window"),
        ({"lower_mm": ["0.0038", "in"], "nominal_mm": ["0.075", "in"]}, "lopsided_window"),
        ({"setting": ["3", "psi"], "stimulus_max": ["4", "psi"]}, "unusual_setting"),
        # Copied from a sheet in psi with the unit left at kPa, throughout.
        ({"setting": ["31", "kPa"], "stimulus_max": ["43", "kPa"]}, "unusual_setting"),
    ],
)
def test_a_value_that_looks_mistaken_is_asked_about_and_then_taken(manager, pneumatic, changes, code):
    """Usual sizes: common practice, no source."""
    with pytest.raises(Doubts) as caught:
        add(manager, pneumatic, **changes)
    assert code in {doubt.code for doubt in caught.value.errors}
    assert not SpecificationRevision.objects.exists()
    assert add(manager, pneumatic, **changes, confirmed=True).pk


@pytest.mark.parametrize("who", ["technician", "viewer"])
def test_only_a_manager_writes_specifications(request, pneumatic, who):
    with pytest.raises(FleetError) as caught:
        add(request.getfixturevalue(who), pneumatic)
    assert caught.value.status == 403
