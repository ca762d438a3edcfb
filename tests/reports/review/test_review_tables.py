"""The review's tables against a month that was written by hand."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from scipy.stats import binomtest

from fleet.models import Complaint, Turbocharger
from reports.export.frozen import Table
from reports.review.complaints import complaint_table
from reports.review.found import found_table, void_table
from reports.review.instruments import due_table, found_out_table
from reports.review.month import Month, month_before, month_from
from reports.review.quality import quality_table
from reports.review.rechecks import dues_of, overdue_table, recheck_table
from reports.review.records import read_records
from reports.review.states import ABSENT, flow_table, flows, state_table, states_on
from reports.review.summary import summary
from reports.review.tables import tables_of
from reports.review.units import adjuster_table, outside_table
from tests.bay import make_bay
from tests.factories import CertificateFactory, CertificatePointFactory

pytestmark = pytest.mark.django_db
MARCH = Month(date(2025, 3, 1))


def rows_of(table: Table) -> list[dict[str, str]]:
    return [dict(zip((column.key for column in table.columns), row, strict=True)) for row in table.rows]


def row_of(table: Table, **wanted: str) -> dict[str, str]:
    return next(row for row in rows_of(table) if all(row[key] == text for key, text in wanted.items()))


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
    rows = rows_of(flow_table(read_records(MARCH, None)))
    held = {(row["from_state"], row["to_state"]): int(row["units"]) for row in rows}
    assert held == {
        ("inside", "inside"): 1, ("inside", "outside low"): 1, ("outside high", "inside"): 1,
        ("never checked", "never checked"): 1, ("never checked", "void"): 1,
    }  # fmt: skip


def test_moves_add_up_to_the_states_at_both_ends(march):
    records = read_records(MARCH, None)
    moves, states = rows_of(flow_table(records)), rows_of(state_table(records))
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


def test_a_check_belongs_to_the_day_at_its_depot(looked):
    bay = make_bay()
    bay.depot.time_zone = "Pacific/Auckland"
    bay.depot.save()
    looked(bay, "03-31", "20", hour=22)  # already April there
    assert read_records(MARCH, None).checks == ()


def test_as_found_shares_have_exact_limits(march):
    """Peer: scipy.stats.binomtest, method 'exact' (Clopper and Pearson 1934)."""
    held = found_table(read_records(MARCH, None))
    month = row_of(held, period="month", depot="all", model="all")
    assert [month[key] for key in ("checks", "inside", "outside_low", "outside_high", "undecided", "void")] == [
        "3", "0", "1", "1", "0", "1"
    ]  # fmt: skip
    year = row_of(held, period="twelve months", depot="all", model="all")
    assert [year[key] for key in ("checks", "inside", "outside_low", "outside_high", "void")] == [
        "6",
        "2",
        "1",
        "2",
        "1",
    ]
    peer = binomtest(3, 5).proportion_ci(method="exact")
    assert (year["outside_share"], year["outside_low_limit"], year["outside_high_limit"]) == (
        "60.0", f"{100 * peer.low:.1f}", f"{100 * peer.high:.1f}"
    )  # fmt: skip


def test_void_strokes_give_their_reasons(march):
    row = row_of(void_table(read_records(MARCH, None)), reason="exercise short")
    assert (row["month"], row["twelve_months"]) == ("1", "1")


def test_units_left_outside_are_listed_with_how_far(march):
    (row,) = rows_of(outside_table(read_records(MARCH, None)))
    bay = march["low"]
    assert (row["serial"], row["truck"], row["state"]) == (
        bay.turbocharger.serial,
        bay.truck.unit_number,
        "outside low",
    )
    assert row["checked_on"] == "2025-03-12"
    # 38 less 20 thousandths of an inch is 0.457 mm (25.4 mm to the inch, exact), before the dial's and the gauge's
    # corrections; beside its own cells the number is exact.
    assert float(row["beyond"]) == pytest.approx(0.0254 * 18, abs=0.05)
    assert float(row["beyond"]) == pytest.approx(float(row["lower_limit"]) - float(row["travel"]), abs=0.0011)


def test_what_falls_due_is_answered_late_or_overdue(march):
    """The policy's defaults: mend within 3 days, repeat a void within 7, look after an adjustment within 60, once a
    year, and within a year of fitting (the bays' units were fitted on 1 Mar 2022)."""
    names = {bay.turbocharger.pk: name for name, bay in march.items()}
    dues = {(names[due.unit], due.rule, due.on, due.outcome) for due in dues_of(read_records(MARCH, None))}
    assert dues == {
        ("low", "outside_left", date(2025, 3, 15), "overdue"),
        ("back", "outside_left", date(2025, 3, 2), "in_time"),
        ("never", "first_look", date(2023, 3, 1), "overdue"),
        ("void", "first_look", date(2023, 3, 1), "late"),
        ("void", "void", date(2025, 3, 27), "overdue"),
    }


def test_the_table_of_re_checks_adds_them_up(march):
    row = row_of(recheck_table(read_records(MARCH, None)), depot="all")
    assert [row[key] for key in ("due", "in_time", "late", "overdue", "answered_share")] == ["5", "1", "1", "3", "40.0"]
    # Four strokes in March, as found of three checks and as left of one; the one without exercise does not count.
    assert [row[key] for key in ("checks", "strokes", "void", "void_share")] == ["3", "4", "1", "25.0"]


def test_the_longest_overdue_comes_first(march):
    held = rows_of(overdue_table(read_records(MARCH, None)))
    assert held[0]["serial"] == march["never"].turbocharger.serial
    assert held[-1]["days_overdue"] == "4"  # 27 to 31 March


def test_a_complaint_open_then_makes_its_truck_due(march):
    bay = march["stays"]
    row = Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on=date(2025, 3, 4), raised_by="the driver")
    looked_back = [due for due in dues_of(read_records(MARCH, None)) if due.unit == bay.turbocharger.pk]
    assert looked_back == []  # raised within the month, seen at its next look
    april = [due for due in dues_of(read_records(Month(date(2025, 4, 1)), None)) if due.unit == bay.turbocharger.pk]
    assert ("open_complaint", date(2025, 3, 18)) in {(due.rule, due.on) for due in april}
    listed = row_of(complaint_table(read_records(MARCH, None)), truck=bay.truck.unit_number)
    assert (listed["kind"], listed["state"], listed["explained"]) == ("smoke", "open", "not studied")
    Complaint.objects.filter(pk=row.pk).update(closed_on=date(2025, 4, 5), finding="a hose")
    assert row_of(complaint_table(read_records(MARCH, None)), truck=bay.truck.unit_number)["state"] == "open"


def test_units_adjusted_again_and_again_are_named(looked):
    bay = make_bay()
    for day in ("01-10", "02-09", "03-21"):
        looked(bay, day, "95", left="59.5")
    (row,) = rows_of(adjuster_table(read_records(MARCH, None)))
    assert (row["serial"], row["adjustments"], row["half_turns"]) == (bay.turbocharger.serial, "3", "-6")
    assert row["days_between"] == "35.0"  # the median of 30 and 40


def test_an_instrument_found_out_of_tolerance_is_told_with_its_checks(march):
    bay = march["low"]
    bad = CertificateFactory(instrument=bay.gauge, issued_on=date(2025, 3, 25), due_on=date(2026, 3, 25))
    permissible = bay.gauge.permissible_error
    CertificatePointFactory(certificate=bad, moment="as_found", indication=200.0, error=2 * permissible)
    (row,) = rows_of(found_out_table(read_records(MARCH, None)))
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
