"""The review's tables against a month that was written by hand."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import Turbocharger
from reports.review.instruments import due_table, found_out_table
from reports.review.month import Month, month_before, month_from
from reports.review.quality import quality_table
from reports.review.records import read_records
from reports.review.states import ABSENT, flow_table, flows, state_table, states_on
from reports.review.summary import summary
from reports.review.tables import tables_of
from reports.review.units import adjuster_table
from tests.bay import make_bay
from tests.factories import CertificateFactory, CertificatePointFactory
from tests.reviews import MARCH, row_of

pytestmark = pytest.mark.django_db


def test_a_month_knows_its_ends():
    december = Month(date(2025, 12, 1))
    assert (december.before, december.last, december.after) == (
        date(2025, 11, 30),
        date(2025, 12, 31),
        date(2026, 1, 1),
    )
    assert december.year_began == date(2025, 1, 1)
    assert month_before(date(2025, 3, 31)) == Month(date(2025, 2, 1))
    assert [month_from(text) for text in ("2025-03", "2025-13", "x", "9999-12", "0001-01")] == [MARCH, *[None] * 4]


def test_states_are_those_of_the_records_as_of_that_day(march):
    records = read_records(MARCH, None)
    names = {bay.turbocharger.pk: name for name, bay in march.items()}

    def on(day):
        return {names[unit]: state for unit, state in states_on(records, day).items()}

    assert on(date(2025, 2, 28)) == {
        "stays": "inside", "low": "inside", "back": "outside_high", "never": "never_checked", "void": "never_checked"
    }  # fmt: skip
    assert on(MARCH.last) == {
        "stays": "inside", "low": "outside_low", "back": "inside", "never": "never_checked", "void": "void"
    }  # fmt: skip


def test_moves_between_states_are_counted_unit_by_unit(march):
    rows = flow_table(read_records(MARCH, None)).named()
    held = {(row["from_state"], row["to_state"]): int(row["units"]) for row in rows}
    assert held == {
        ("inside", "inside"): 1, ("inside", "outside low"): 1, ("outside high", "inside"): 1,
        ("never checked", "never checked"): 1, ("never checked", "void"): 1,
    }  # fmt: skip


def test_moves_add_up_to_the_states_at_both_ends(march):
    records = read_records(MARCH, None)
    moves, states = flow_table(records).named(), state_table(records).named()
    for row in states[:-1]:
        assert sum(int(move["units"]) for move in moves if move["from_state"] == row["state"]) == int(
            row["units_before"]
        )
        assert sum(int(move["units"]) for move in moves if move["to_state"] == row["state"]) == int(row["units"])


def test_units_received_or_scrapped_in_the_month_come_from_and_go_out_of_use(march):
    Turbocharger.objects.filter(pk=march["never"].turbocharger.pk).update(received_on=date(2025, 3, 9))
    Turbocharger.objects.filter(pk=march["stays"].turbocharger.pk).update(scrapped_on=date(2025, 3, 9))
    records = read_records(MARCH, None)
    moves = flows(*(states_on(records, day) for day in (MARCH.before, MARCH.last)))
    assert (moves[ABSENT, "never_checked"], moves["inside", ABSENT]) == (1, 1)


def test_units_adjusted_again_and_again_are_named(looked):
    bay = make_bay()
    for day in ("01-10", "02-09", "03-21"):
        looked(bay, day, "95", left="59.5")
    (row,) = adjuster_table(read_records(MARCH, None)).named()
    assert (row["serial"], row["adjustments"], row["half_turns"]) == (bay.turbocharger.serial, "3", "-6")
    assert row["days_between"] == "35.0"  # the median of 30 and 40


def test_an_instrument_found_out_of_tolerance_is_told_with_its_checks(march):
    bay = march["low"]
    bad = CertificateFactory(instrument=bay.gauge, issued_on=date(2025, 3, 25), due_on=date(2026, 3, 25))
    permissible = bay.gauge.permissible_error
    CertificatePointFactory(certificate=bad, moment="as_found", indication=200.0, error=2 * permissible)
    (row,) = found_out_table(read_records(MARCH, None)).named()
    assert (row["label"], row["worst_share"], row["checks"], row["units"]) == (bay.gauge.label, "200", "2", "1")
    assert row_of(due_table(read_records(MARCH, None)), label=bay.dial.label)["checks"] == "1"


def test_data_quality_counts_what_lacks(march):
    row = row_of(quality_table(read_records(MARCH, None)), depot="all")
    assert [row[key] for key in ("trucks", "without_trips", "units", "never_checked", "void", "checks")] == [
        "5", "5", "5", "1", "1", "3"
    ]  # fmt: skip


def test_a_depots_review_holds_its_own_alone(march):
    records = read_records(MARCH, march["low"].depot)
    assert set(records.units) == {march["low"].turbocharger.pk}
    assert [check.unit for check in records.checks] == [march["low"].turbocharger.pk] * 2
    for held in tables_of(records):
        said = " ".join(cell for row in held.rows for cell in row)
        for other in ("stays", "back", "never", "void"):
            assert march[other].turbocharger.serial not in said
            assert march[other].gauge.label not in said


def test_the_summary_repeats_the_tables_numbers(march):
    held = {made.name: made for made in tables_of(read_records(MARCH, None))}
    said = " ".join(summary(held, MARCH, "the fleet"))
    assert "At the end of March 2025, 2 of 5 units stood inside their window and 1 outside" in said
    assert "one unit that had stood inside was found outside, and one unit that had stood outside came back" in said
    assert "5 dates fell due: 1 answered in time, 1 late, 3 overdue at the end of the month." in said
    year = row_of(held["as_found"], period="twelve months", depot="all", model="all")
    assert f"{year['outside_share']} % ({year['outside_low_limit']} to {year['outside_high_limit']} %)" in said


def test_an_empty_fleet_has_a_review_that_says_so():
    held = {made.name: made for made in tables_of(read_records(MARCH, None))}
    assert summary(held, MARCH, "the fleet")[0] == "The fleet had no unit on its register at the end of March 2025."


def test_reading_costs_as_many_queries_for_many_units_as_for_few(march, looked):
    def queries():
        with CaptureQueriesContext(connection) as counted:
            list(tables_of(read_records(MARCH, None)))
        return len(counted)

    few = queries()
    for _ in range(3):
        looked(make_bay(), "03-14")
    assert queries() == few
