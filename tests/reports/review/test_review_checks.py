"""Tables of checks and re-checks against a month that was written by hand."""

from datetime import date

import pytest
from scipy.stats import binomtest

from fleet.models import Complaint
from reports.review.complaints import complaint_table
from reports.review.found import found_table, void_table
from reports.review.month import Month
from reports.review.rechecks import dues_of, overdue_table, recheck_table
from reports.review.records import read_records
from reports.review.units import outside_table
from tests.bay import make_bay
from tests.reviews import MARCH, row_of

pytestmark = pytest.mark.django_db


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
    (row,) = outside_table(read_records(MARCH, None)).named()
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
    held = overdue_table(read_records(MARCH, None)).named()
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
