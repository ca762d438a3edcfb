"""Tables of recalls, instruments, drift, leaving units and gaps, filled by hand."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from checks.models import FuelFit, FuelMonth, Recall, Standing, TruckMonth
from checks.services.recall import judge_all, open_recall
from checks.services.recall_work import close_recall
from reports.export.frozen import Table
from reports.review.drift import drift_table
from reports.review.instruments import due_table
from reports.review.month import Month
from reports.review.quality import quality_table
from reports.review.recalls import recall_table
from reports.review.records import read_records
from reports.review.summary import drift, instruments, quality
from reports.review.units import leaving_table
from tests.factories import CertificateFactory, CertificatePointFactory, DriftFitFactory, InstrumentFactory
from tests.reviews import MARCH, row_of

pytestmark = pytest.mark.django_db


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
    (row,) = recall_table(records).named()
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
    (row,) = recall_table(read_records(MARCH, None)).named()
    assert (row["state"], row["closed_on"], row["conclusion"]) == ("open", "", "")
    Recall.objects.update(closed_at=datetime(2025, 3, 30, 9, tzinfo=UTC))
    (row,) = recall_table(read_records(MARCH, None)).named()
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
    first = [(row["label"], row["state"], row["due_on"], row["checks"]) for row in held.named()[:3]]
    assert first == [
        (bay.gauge.label, "out of date", "2025-03-15", "1"),
        (bare.label, "no certificate", "", "0"),
        (bay.dial.label, "due soon", "2025-04-10", "1"),
    ]


def test_gaps_of_the_records_are_counted_by_depot(march):
    fit = FuelFit.objects.create(
        code_version="1", first_month=MARCH.number, last_month=MARCH.number, trucks=2, cells=1, trips=1, weight_km=1.0,
        columns="", residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip
    for name, travel in (("stays", FuelMonth.Travel.INSIDE), ("low", FuelMonth.Travel.UNKNOWN)):
        truck = march[name].truck
        TruckMonth.objects.create(
            truck=truck, month=MARCH.number, rows=9, weight_km=900.0, litres=300.0, columns="", moments=b""
        )
        FuelMonth.objects.create(
            fit=fit,
            truck=truck,
            month=MARCH.number,
            litres=300,
            km=900,
            log_fuel=3.5,
            standard_error=0.01,
            travel=travel,
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
    (fit,) = drift_table(records).named()
    # 0.2 ± 1.960 * 0.01, the error of the slope.
    assert [fit[key] for key in ("drift", "drift_low_limit", "drift_high_limit", "per")] == [
        "0.2000", "0.1804", "0.2196", "100,000 km"
    ]  # fmt: skip
    (unit,) = leaving_table(records).named()
    assert (unit["serial"], unit["leaves_on"], unit["chance_outside"]) == (
        march["stays"].turbocharger.serial, "2025-05-09", "3.1"
    )  # fmt: skip
    held = {made.name: made for made in (drift_table(records), leaving_table(records))}
    held["repeat_adjusters"] = Table("repeat_adjusters", "", "", (), ())
    travel, leaving = drift(held, MARCH, "the fleet")
    assert f"{fit['model']} by 0.2000 mm per 100,000 km (0.1804 to 0.2196)" in travel
    assert leaving.startswith("One unit is about to leave the window")
