"""Instruments: each kind reads its own fields, and nothing that cannot be right gets in."""

from datetime import date

import pytest

from checks.models import Instrument
from checks.services.instrument import add_instrument, bring_back_instrument, edit_instrument, withdraw_instrument
from fleet.problems import FleetError, FleetErrors
from tests.checks.registers.conftest import DIAL, GAUGE, KINDS, MULTIMETER, TRANSDUCER
from tests.factories import DepotFactory

pytestmark = pytest.mark.django_db
# Exact: NIST SP 811 (2008) appendix B.8.
KPA_PER_PSI = 6.894757293168361


def add(author, kind, entry, **changes):
    depot = author.memberships.get().depot
    return add_instrument(author=author, kind=kind, entry={**entry, "depot": str(depot.pk), **changes})


def refused(author, kind, entry, **changes):
    with pytest.raises(FleetErrors) as caught:
        add(author, kind, entry, **changes)
    assert not Instrument.objects.exists()
    return {fault.field: fault.code for fault in caught.value.errors}


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_can_be_added_and_edited_without_change(manager, kind):
    row = add(manager, kind, KINDS[kind])
    before = Instrument.objects.filter(pk=row.pk).values().get()
    edit_instrument(author=manager, instrument=row, entry={**KINDS[kind], "depot": str(row.depot_id)})
    assert Instrument.objects.filter(pk=row.pk).values().get() == before


def test_a_dial_in_inches_is_kept_in_mm_and_as_typed(manager):
    """NIST SP 811 (2008) appendix B.8: 1 in = 25.4 mm exactly."""
    row = add(manager, "dial", DIAL)
    assert (row.range_low, row.range_high) == (0.0, pytest.approx(12.7, rel=1e-15))
    assert row.division == pytest.approx(0.0127, rel=1e-15)
    assert row.typed["division"] == ["0.5", "thou"]
    assert row.read_to == 0.5


def test_a_gauge_of_class_1_6_may_err_by_1_6_per_cent_of_its_span(manager):
    """EN 837-1 rule, worked example 0 to 60 psi: ± 0.96 psi (rule seen in a vendor's page; product recomputed)."""
    row = add(manager, "gauge", GAUGE)
    assert row.permissible_error == pytest.approx(0.96 * KPA_PER_PSI, rel=1e-12)


def test_a_transducer_keeps_its_sensitivity_per_kpa(manager):
    row = add(manager, "transducer", TRANSDUCER)
    assert row.sensitivity == pytest.approx(2 / KPA_PER_PSI, rel=1e-12)
    assert (row.electrical_unit, row.offset, row.division) == ("mV", 0.5, None)
    assert row.sensitivity * (50 * KPA_PER_PSI) == pytest.approx(100, rel=1e-12)  # 50 psi give 100 mV


def test_a_transducer_in_current_has_its_offset_in_current(manager):
    """4 to 20 mA over 0 to 100 psi: 0.16 mA/psi and 4 mA at zero (arithmetic)."""
    row = add(manager, "transducer", TRANSDUCER, sensitivity=["0.16", "mA/psi"], offset=["4", "mA"])
    assert row.sensitivity * 100 * KPA_PER_PSI + row.offset == pytest.approx(20, rel=1e-12)
    assert row.electrical_unit == "mA"


def test_digits_of_a_multimeter_count_its_last_digit(manager):
    row = add(manager, "multimeter", MULTIMETER)
    assert row.permissible_error == pytest.approx(0.3, rel=1e-12)
    assert row.error_share == pytest.approx(0.005, rel=1e-12)
    assert row.typed["permissible_error"] == ["3", "digits"]


def test_volts_are_read_on_a_millivolt_meter(manager):
    row = add(manager, "multimeter", MULTIMETER, range_high=["0.4", "V"])
    assert row.range_high == pytest.approx(400, rel=1e-12)


@pytest.mark.parametrize(
    ("kind", "changes", "field", "code"),
    [
        ("dial", {"label": ""}, "label", "required"),
        ("dial", {"label": "x" * 41}, "label", "too_long"),
        ("dial", {"division": ["0", "mm"]}, "division", "instrument_division_given"),
        ("dial", {"division": ["-1", "mm"]}, "division", "out_of_bounds"),
        ("dial", {"division": ["NaN", "mm"]}, "division", "not_a_number"),
        ("dial", {"division": ["1", "psi"]}, "division", "unit_unknown"),
        ("dial", {"range_high": ["1e9", "mm"]}, "range_high", "not_a_number"),
        ("dial", {"range_high": ["900", "mm"]}, "range_high", "out_of_bounds"),
        ("dial", {"permissible_error": ["", "mm"]}, "permissible_error", "required"),
        ("dial", {"permissible_error": ["0", "mm"]}, "permissible_error", "permissible_error_given"),
        ("dial", {"range_high": ["1", "mm"], "division": ["1", "mm"]}, "division", "division_wider_than_range"),
        ("gauge", {"division": ["4", "bar"]}, "division", "division_wider_than_range"),
        ("dial", {"read_to": "0.3"}, "read_to", "not_a_choice"),
        ("dial", {"depot": ""}, "depot", "depot_unknown"),
        ("dial", {"depot": "99999999999999999999999"}, "depot", "depot_unknown"),
        ("gauge", {"range_low": ["60", "psi"]}, "range_high", "range_not_ordered"),
        ("gauge", {"range_high": ["60", "mV"]}, "range_high", "unit_unknown"),
        ("transducer", {"sensitivity": ["0", "mV/psi"]}, "sensitivity", "transducer_has_sensitivity"),
        ("transducer", {"sensitivity": ["2", "mV/ft"]}, "sensitivity", "unit_unknown"),
        ("transducer", {"offset": ["4", "mA"]}, "offset", "unit_unknown"),
        ("multimeter", {"electrical_unit": "ohm"}, "electrical_unit", "not_a_choice"),
        ("multimeter", {"range_high": ["20", "mA"]}, "range_high", "unit_unknown"),
        ("command", {"range_high": ["101", "%"]}, "range_high", "out_of_bounds"),
        ("regulator", {"range_high": ["-5", "psi"]}, "range_high", "out_of_bounds"),
    ],
)
def test_each_wrong_field_is_named(manager, kind, changes, field, code):
    assert refused(manager, kind, KINDS[kind], **changes)[field] == code


def test_a_kind_that_does_not_exist_is_refused(manager):
    with pytest.raises(FleetError, match="no kind 'ruler'"):
        add(manager, "ruler", DIAL)


def test_a_label_is_used_once_whatever_its_capitals(manager):
    add(manager, "dial", DIAL)
    with pytest.raises(FleetErrors) as caught:
        add(manager, "dial", DIAL, label="di-07")
    assert [(fault.field, fault.code) for fault in caught.value.errors] == [("label", "label_taken")]


@pytest.mark.parametrize("who", ["technician", "viewer"])
def test_only_a_manager_of_the_depot_adds_instruments(request, who):
    assert refused(request.getfixturevalue(who), "dial", DIAL) == {"depot": "depot_unknown"}


def test_an_instrument_cannot_be_put_into_a_depot_of_others(manager):
    other = DepotFactory()
    assert refused(manager, "dial", DIAL, depot=str(other.pk)) == {"depot": "depot_unknown"}


def test_a_manager_of_another_depot_may_not_edit_it(manager, stranger):
    row = add(manager, "dial", DIAL)
    with pytest.raises(FleetError) as caught:
        edit_instrument(author=stranger, instrument=row, entry={**DIAL, "depot": str(row.depot_id)})
    assert caught.value.status == 403


def test_withdrawing_needs_a_reason_and_keeps_it(manager):
    row = add(manager, "dial", DIAL)
    with pytest.raises(FleetErrors) as caught:
        withdraw_instrument(author=manager, instrument=row, entry={"withdrawn_on": "2026-01-05", "reason": ""})
    assert [fault.field for fault in caught.value.errors] == ["reason"]
    entry = {"withdrawn_on": "2026-01-05", "reason": "dropped from a step"}
    row = withdraw_instrument(author=manager, instrument=row, entry=entry)
    assert row.withdrawn_on == date(2026, 1, 5)
    assert row.history.first().history_change_reason == "dropped from a step"


def test_a_withdrawal_in_the_future_is_refused(manager):
    row = add(manager, "dial", DIAL)
    with pytest.raises(FleetErrors, match="Enter a day"):
        withdraw_instrument(author=manager, instrument=row, entry={"withdrawn_on": "2199-01-05", "reason": "x"})


def test_an_instrument_can_come_back(manager):
    row = add(manager, "dial", DIAL)
    withdraw_instrument(author=manager, instrument=row, entry={"withdrawn_on": "2026-01-05", "reason": "lost"})
    assert bring_back_instrument(author=manager, instrument=row, entry={"reason": "found"}).withdrawn_on is None
