"""Tables of complaints, recalls, instruments, drift, leaving units and gaps, filled by hand."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from checks.models import ComplaintStudy, FuelFit, FuelMonth, Recall, Standing, TruckMonth
from checks.services.recall import judge_all, open_recall
from checks.services.recall_work import close_recall
from fleet.models import Complaint
from reports.export.frozen import Table
from reports.review.complaints import complaint_table, odds_table, silent_table, tally_table
from reports.review.drift import drift_table
from reports.review.instruments import due_table
from reports.review.month import Month
from reports.review.quality import quality_table
from reports.review.recalls import recall_table
from reports.review.records import read_records
from reports.review.summary import complaints, drift, instruments, quality
from reports.review.units import leaving_table
from tests.factories import CertificateFactory, CertificatePointFactory, DriftFitFactory, InstrumentFactory

pytestmark = pytest.mark.django_db
MARCH = Month(date(2025, 3, 1))
NUMBER = 12 * 2025 + 2


def rows_of(held: Table) -> list[dict[str, str]]:
    return [dict(zip((column.key for column in held.columns), row, strict=True)) for row in held.rows]


def row_of(held: Table, **wanted: str) -> dict[str, str]:
    return next(row for row in rows_of(held) if all(row[key] == text for key, text in wanted.items()))


@pytest.fixture
def heard(march: Any) -> dict[str, Complaint]:
    """Four complaints of fuel and one of smoke, and a study that found one low, one inside, one unknown."""

    def raised(name: str, on: date, kind: str = "fuel_economy", **changes: Any) -> Complaint:
        return Complaint.objects.create(
            truck=march[name].truck, kind=kind, raised_on=on, raised_by="the driver", **changes
        )

    rows = {
        "explained": raised("low", date(2025, 3, 20)),
        "unexplained": raised("stays", date(2025, 2, 20), closed_on=date(2025, 3, 5), finding="a flat tyre"),
        "unknown": raised("never", date(2024, 11, 3)),
        "new": raised("back", date(2025, 3, 30)),
        "smoke": raised("void", date(2025, 3, 2), kind="smoke"),
        "old": raised("stays", date(2023, 3, 5), closed_on=date(2023, 3, 9), finding="a hose"),
        "later": raised("stays", date(2025, 4, 2)),
    }
    ratio = {"estimate": 3.0, "low": 1.2, "high": 7.5, "p": 0.01, "method": "exact", "strata": 2}
    open_ended, none = {**ratio, "estimate": None, "high": None}, {**ratio, "low": 0.0, "high": None, "strata": 0}
    lags = [{"lag": n, "overall": ratio, "low": open_ended, "high": none, "tables": []} for n in range(7)]
    ComplaintStudy.objects.create(
        code_version="1", first_month=NUMBER - 5, last_month=NUMBER, trucks=5, cells=30, lags=lags, derived_from={},
        inputs="x",
        complaints=[
            [rows["explained"].pk, march["low"].truck.pk, "iillllll"],
            [rows["unexplained"].pk, march["stays"].truck.pk, "iiiiiii"],
            [rows["unknown"].pk, march["never"].truck.pk, "uuuuuuu"],
        ],
        silent=[[march["back"].truck.pk, march["back"].turbocharger.pk, NUMBER - 4, NUMBER, "h"]],
    )  # fmt: skip
    return rows


def test_complaints_are_explained_not_explained_or_not_known(heard, march):
    records = read_records(MARCH, None)
    rows = rows_of(complaint_table(records))
    said = {(row["truck"], row["raised_on"]): (row["explained"], row["travel"], row["state"]) for row in rows}
    numbers = {name: bay.truck.unit_number for name, bay in march.items()}
    assert said == {
        (numbers["back"], "2025-03-30"): ("not studied", "", "open"),
        (numbers["low"], "2025-03-20"): ("explained", "outside low", "open"),
        (numbers["void"], "2025-03-02"): ("not studied", "", "open"),
        (numbers["stays"], "2025-02-20"): ("not explained", "inside", "closed"),
        (numbers["never"], "2024-11-03"): ("travel not known", "", "open"),
    }
    counts = row_of(tally_table(records), kind="fuel economy")
    keys = ("this_month", "explained", "not_explained", "travel_not_known", "not_studied")
    assert [counts[key] for key in keys] == ["2", "1", "1", "1", "1"]
    assert row_of(tally_table(records), kind="smoke")["not_studied"] == "1"


def test_a_truck_outside_and_thirsty_that_nobody_complains_about_is_named(heard, march):
    (row,) = rows_of(silent_table(read_records(MARCH, None)))
    bay = march["back"]
    assert (row["truck"], row["serial"], row["stood"]) == (
        bay.truck.unit_number,
        bay.turbocharger.serial,
        "outside high",
    )
    assert (row["since"], row["last"]) == ("2024-11", "2025-03")
    assert silent_table(read_records(MARCH, march["low"].depot)).rows == ()


def test_odds_without_an_upper_bound_leave_it_empty_and_odds_of_nothing_have_no_row(heard):
    both, low = rows_of(odds_table(read_records(MARCH, None)))
    assert [both[key] for key in ("odds_ratio", "odds_low_limit", "odds_high_limit")] == ["3.00", "1.20", "7.50"]
    assert [low[key] for key in ("side", "odds_ratio", "odds_low_limit", "odds_high_limit")] == [
        "outside low", "", "1.20", ""
    ]  # fmt: skip


def test_the_first_page_counts_complaints_and_silent_trucks(heard):
    records = read_records(MARCH, None)
    held = {made.name: made for made in (tally_table(records), silent_table(records))}
    raised, silent = complaints(held, MARCH, "the fleet")
    assert raised == (
        "Three complaints were raised in the month; of the fuel complaints listed travel explains 1 and does not "
        "explain 1."
    )
    assert silent == "One truck burns more than before and stands outside without a complaint."


@pytest.fixture
def recalled(march: Any) -> Recall:
    """A gauge that came back on 25 March reading a quarter too high, after two checks with three strokes."""
    bay = march["back"]
    bad = CertificateFactory(instrument=bay.gauge, number="K-9", issued_on=date(2025, 3, 25), due_on=date(2026, 3, 25))
    for at in (0.0, 200.0, 400.0):
        CertificatePointFactory(certificate=bad, moment="as_found", indication=at, error=0.25 * at)
        CertificatePointFactory(certificate=bad, indication=at)
    recall = open_recall(certificate=bad, author=bay.manager)
    assert recall is not None
    judge_all()
    Recall.objects.filter(pk=recall.pk).update(opened_at=datetime(2025, 3, 26, 9, tzinfo=UTC))
    recall.refresh_from_db()
    return recall


def test_a_recall_tells_its_checks_flips_and_units_that_wait(recalled, march):
    """A quarter too high: the rise ended a quarter below the setting, so that none of the three strokes counts."""
    records = read_records(MARCH, None)
    (row,) = rows_of(recall_table(records))
    assert [row[key] for key in ("label", "certificate", "opened_on", "closed_on", "state", "first_check_on")] == [
        march["back"].gauge.label, "K-9", "2025-03-26", "", "open", "2025-02-27"
    ]  # fmt: skip
    assert [row[key] for key in ("checks", "flips", "waiting")] == ["2", "3", "1"]
    held = {made.name: made for made in (due_table(records), recall_table(records))}
    held["instruments_found_out"] = recall_table(read_records(MARCH, march["low"].depot))
    assert (
        "Of one recall open in the twelve months, three verdicts change and one unit waits to be seen again."
        in list(instruments(held, MARCH, "the fleet"))
    )


def test_a_recall_closed_after_the_month_was_open_in_it(recalled, march, looked):
    looked(march["back"], "04-03", "59.5")
    close_recall(author=march["back"].manager, recall=recalled, entry={"conclusion": "Seen again; gauge repaired."})
    (row,) = rows_of(recall_table(read_records(MARCH, None)))
    assert (row["state"], row["closed_on"], row["conclusion"]) == ("open", "", "")
    Recall.objects.update(closed_at=datetime(2025, 3, 30, 9, tzinfo=UTC))
    (row,) = rows_of(recall_table(read_records(MARCH, None)))
    assert (row["state"], row["closed_on"], row["conclusion"]) == (
        "closed", "2025-03-30", "Seen again; gauge repaired."
    )  # fmt: skip
    assert recall_table(read_records(Month(date(2025, 2, 1)), None)).rows == ()


def test_instruments_are_listed_by_what_their_certificate_says_at_the_end_of_the_month(march):
    bay = march["low"]
    bay.gauge.certificates.update(due_on=date(2025, 3, 15))
    bay.dial.certificates.update(due_on=date(2025, 4, 10))
    bare = InstrumentFactory(depot=bay.depot)
    InstrumentFactory(depot=bay.depot, withdrawn_on=date(2025, 3, 3))
    held = due_table(read_records(MARCH, bay.depot))
    first = [(row["label"], row["state"], row["due_on"], row["checks"]) for row in rows_of(held)[:3]]
    assert first == [
        (bay.gauge.label, "out of date", "2025-03-15", "1"),
        (bare.label, "no certificate", "", "0"),
        (bay.dial.label, "due soon", "2025-04-10", "1"),
    ]


def test_gaps_of_the_records_are_counted_by_depot(march):
    fit = FuelFit.objects.create(
        code_version="1", first_month=NUMBER, last_month=NUMBER, trucks=2, cells=1, trips=1, weight_km=1.0, columns="",
        residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip
    for name, travel in (("stays", FuelMonth.Travel.INSIDE), ("low", FuelMonth.Travel.UNKNOWN)):
        truck = march[name].truck
        TruckMonth.objects.create(
            truck=truck, month=NUMBER, rows=9, weight_km=900.0, litres=300.0, columns="", moments=b""
        )
        FuelMonth.objects.create(
            fit=fit, truck=truck, month=NUMBER, litres=300, km=900, log_fuel=3.5, standard_error=0.01, travel=travel
        )
    held = quality_table(read_records(MARCH, None))
    keys = ("trucks", "without_trips", "travel_unknown", "units", "never_checked", "void")
    assert [row_of(held, depot="all")[key] for key in keys] == ["5", "3", "1", "5", "1", "1"]
    assert [row_of(held, depot=march["low"].depot.name)[key] for key in keys] == ["1", "0", "1", "1", "0", "0"]
    assert [row_of(held, depot=march["never"].depot.name)[key] for key in keys] == ["1", "1", "0", "1", "1", "0"]
    (said,) = quality({"data_quality": held}, MARCH, "the fleet")
    assert said == "Records lack trips of 3 of 5 trucks in service, and one unit was never checked."


def test_drift_has_its_limits_and_the_units_that_leave_their_day(march):
    DriftFitFactory(turbocharger_model=march["stays"].turbocharger.model)
    Standing.objects.filter(turbocharger=march["stays"].turbocharger).update(
        leaving=True, leaves_on=date(2025, 5, 9), p_outside_now=0.031
    )
    records = read_records(MARCH, None)
    (fit,) = rows_of(drift_table(records))
    # 0.2 ± 1.960 * 0.01, the error of the slope.
    assert [fit[key] for key in ("drift", "drift_low_limit", "drift_high_limit", "per")] == [
        "0.2000", "0.1804", "0.2196", "100,000 km"
    ]  # fmt: skip
    (unit,) = rows_of(leaving_table(records))
    assert (unit["serial"], unit["leaves_on"], unit["chance_outside"]) == (
        march["stays"].turbocharger.serial, "2025-05-09", "3.1"
    )  # fmt: skip
    held = {made.name: made for made in (drift_table(records), leaving_table(records))}
    held["repeat_adjusters"] = Table("repeat_adjusters", "", "", (), ())
    travel, leaving = drift(held, MARCH, "the fleet")
    assert f"{fit['model']} by 0.2000 mm per 100,000 km (0.1804 to 0.2196)" in travel
    assert leaving.startswith("One unit is about to leave the window")
