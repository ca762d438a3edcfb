"""Tables of complaints and silent trucks, filled by hand."""

from datetime import date
from typing import Any

import pytest

from checks.models import ComplaintStudy
from fleet.models import Complaint
from reports.review.complaints import complaint_table, odds_table, silent_table, tally_table
from reports.review.records import read_records
from reports.review.summary import complaints
from tests.reviews import MARCH, row_of

pytestmark = pytest.mark.django_db


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
        code_version="1", first_month=MARCH.number - 5, last_month=MARCH.number, trucks=5, cells=30, lags=lags,
        derived_from={}, inputs="x",
        complaints=[
            [rows["explained"].pk, march["low"].truck.pk, "iillllll"],
            [rows["unexplained"].pk, march["stays"].truck.pk, "iiiiiii"],
            [rows["unknown"].pk, march["never"].truck.pk, "uuuuuuu"],
        ],
        silent=[[march["back"].truck.pk, march["back"].turbocharger.pk, MARCH.number - 4, MARCH.number, "h"]],
    )  # fmt: skip
    return rows


def test_complaints_are_explained_not_explained_or_not_known(heard, march):
    records = read_records(MARCH, None)
    rows = complaint_table(records).named()
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
    (row,) = silent_table(read_records(MARCH, None)).named()
    bay = march["back"]
    assert (row["truck"], row["serial"], row["stood"]) == (
        bay.truck.unit_number,
        bay.turbocharger.serial,
        "outside high",
    )
    assert (row["since"], row["last"]) == ("2024-11", "2025-03")
    assert silent_table(read_records(MARCH, march["low"].depot)).rows == ()


def test_odds_without_an_upper_bound_leave_it_empty_and_odds_of_nothing_have_no_row(heard):
    both, low = odds_table(read_records(MARCH, None)).named()
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
