"""Adding a specification: what was typed becomes exact values, and what cannot be right is refused in words."""

import pytest

from checks.models import SpecificationRevision
from checks.services.entry import Doubts
from checks.services.specification import add_specification
from fleet.problems import FleetError, FleetErrors
from tests.checks.registers.conftest import COMMON

pytestmark = pytest.mark.django_db


def add(author, model, **changes):
    return add_specification(author=author, turbocharger_model=model, entry={**COMMON, **changes})


def refused(author, model, **changes):
    """Field to code of every fault."""
    with pytest.raises(FleetErrors) as caught:
        add(author, model, **changes)
    assert not SpecificationRevision.objects.exists()
    return {fault.field: fault.code for fault in caught.value.errors}


def test_values_typed_in_psi_and_inches_are_stored_exactly_in_kpa_and_mm(manager, pneumatic):
    """NIST SP 811 (2008) appendix B.8: 1 in = 25.4 mm, 1 psi = 6.894757293168361 kPa (both exact by definition)."""
    row = add(manager, pneumatic)
    row.refresh_from_db()
    assert row.setting == pytest.approx(31 * 6.894757293168361, rel=1e-15)
    assert row.stimulus_max == pytest.approx(43 * 6.894757293168361, rel=1e-15)
    assert row.lower_mm == pytest.approx(0.9652, rel=1e-15)
    assert row.nominal_mm == pytest.approx(1.4986, rel=1e-15)
    assert row.upper_mm == pytest.approx(2.032, rel=1e-15)
    assert row.zero_tolerance_mm == pytest.approx(0.0254, rel=1e-15)


def test_what_was_typed_is_kept(manager, pneumatic):
    row = add(manager, pneumatic)
    row.refresh_from_db()
    assert row.typed["setting"] == ["31", "psi"]
    assert row.typed["upper_mm"] == ["0.080", "in"]
    assert row.typed["capture_tolerance"] == ["1", "% of setting"]


def test_a_capture_tolerance_in_per_cent_is_a_share_of_the_setting(manager, pneumatic):
    row = add(manager, pneumatic)
    assert row.capture_tolerance == pytest.approx(0.01 * row.setting, rel=1e-15)


def test_a_pitch_in_threads_per_inch_is_exact(manager, pneumatic):
    """ASME B1.1: 28 threads per inch are 25.4/28 mm (pitch = 1/n exactly)."""
    assert add(manager, pneumatic).thread_pitch_mm == pytest.approx(25.4 / 28, rel=1e-15)


@pytest.mark.parametrize(
    ("thread", "pitch"), [("M6", 1.0), ("M8", 1.25), ("10-32 UNF", 0.79375), ("5/16-24 UNF", 25.4 / 24)]
)
def test_a_common_thread_stands_for_its_pitch(manager, pneumatic, thread, pitch):
    """ISO 261 and ASME B1.1, from memory; a pitch in threads per inch is exact."""
    row = add(manager, pneumatic, thread=thread, thread_pitch_mm=["", "mm"])
    assert row.thread_pitch_mm == pytest.approx(pitch, rel=1e-15)


def test_a_pitch_may_stay_unknown(manager, pneumatic):
    assert add(manager, pneumatic, thread_pitch_mm=["", "mm"]).thread_pitch_mm is None


def test_an_electric_actuator_is_specified_in_per_cent(manager, electric):
    row = add(
        manager,
        electric,
        setting=["60", "%"],
        stimulus_max=["100", "%"],
        zero_tolerance_stimulus=["0,5", "%"],
    )
    assert (row.setting, row.stimulus_max, row.zero_tolerance_stimulus) == (60, 100, 0.5)
    assert row.capture_tolerance == pytest.approx(0.6)


def test_a_decimal_comma_is_read(manager, pneumatic):
    assert add(manager, pneumatic, setting=["31,5", "psi"]).setting == pytest.approx(31.5 * 6.894757293168361)


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


def test_the_author_is_in_the_record_of_changes(manager, pneumatic):
    row = add(manager, pneumatic)
    assert row.made_by == manager
    assert row.history.get().history_user == manager
