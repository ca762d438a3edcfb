"""Tables of fuel filled with rows by hand; what they show is worked by hand beside each.

Student's t at 97.5 %: 2.2281 with 10 degrees of freedom, 2.0860 with 20, 12.706 with one (NIST/SEMATECH e-Handbook of
Statistical Methods, 1.3.6.7.2, from memory). 1 L of diesel is 10.21 / 3.785411784 = 2.6972 kg of CO2 (40 CFR 98, C-1).
"""

from datetime import date
from typing import Any

import pytest

from checks.models import FuelFit, FuelLoss, FuelTotal, Restoration
from reports.review.fuel import cost_table, effect_table, loss_table, restored_table, together_table
from reports.review.month import Month
from reports.review.records import read_records
from reports.review.summary import fuel, restored
from tests.bay import make_bay
from tests.reviews import MARCH

pytestmark = pytest.mark.django_db


def three(row: dict[str, str], key: str) -> tuple[str, str, str]:
    return row[key], row[f"{key}_low_limit"], row[f"{key}_high_limit"]


@pytest.fixture
def fit() -> FuelFit:
    """Below the window 0.2 in log fuel per mm, 0.02 its error; above it too few trucks tell anything."""
    told = {"slope": 0.2, "error": 0.02, "low": 0.155, "high": 0.245, "trucks": 11.0, "carried": True}
    untold = {"slope": 0.0, "error": None, "low": None, "high": None, "trucks": 1.5, "carried": False}
    estimates = {
        "terms": ["shortfall_mm", "excess_mm"], "beta": [0.2, 0.0], "cov": [[4e-4, 0], [0, 0]], "dof": [10, 0],
        "effects": {"shortfall": told, "excess": untold},
    }  # fmt: skip
    return FuelFit.objects.create(
        code_version="1", first_month=MARCH.number - 1, last_month=MARCH.number, trucks=12, cells=24, trips=900,
        weight_km=1.0, columns="", residual_variance=0.01, estimates=estimates, plain=estimates, inputs="x",
    )  # fmt: skip


def total(fit: FuelFit, bay: Any, month: int, **changes: Any) -> None:
    plain = {
        "trucks": 5, "unknown": 1, "outside": 2, "km": 1e4, "litres": 3000.0, "extra_litres": 60.0,
        "per_shortfall": 300.0, "per_excess": 0.0, "travel_variance": 16.0, "money": 120.0, "currency": "EUR",
    }  # fmt: skip
    FuelTotal.objects.create(
        fit=fit, depot=bay.depot, turbocharger_model=bay.turbocharger.model, month=month, **{**plain, **changes}
    )


def test_the_effect_is_told_on_the_side_that_enough_trucks_tell(fit):
    below, above = effect_table(read_records(MARCH, None)).named()
    # exp(0.02) - 1, exp(0.0155) - 1 and exp(0.0245) - 1.
    assert (below["side"], *three(below, "more_fuel"), below["told"]) == (
        "below the window", "2.02", "1.56", "2.48", "yes"
    )  # fmt: skip
    assert (above["side"], *three(above, "more_fuel"), above["trucks"], above["told"]) == (
        "above the window", "", "", "", "1.5", "no"
    )  # fmt: skip


def test_what_it_cost_has_limits_from_the_slope_and_from_travel(fit):
    bay = make_bay()
    unpriced = {"extra_litres": 40.0, "per_shortfall": 200.0, "travel_variance": 9.0, "money": None, "currency": ""}
    total(fit, bay, MARCH.number)
    total(fit, bay, MARCH.number - 1, litres=2900.0, **unpriced)
    held = cost_table(read_records(MARCH, None))
    month, year = held.named()
    # 60 ± 2.2281 sqrt((300 * 0.02)² + 16); a litre at 2 EUR.
    assert three(month, "extra") == ("60", "44", "76")
    assert (*three(month, "money"), month["currency"]) == ("120", "88", "152", "EUR")
    assert [month[key] for key in ("trucks", "outside", "unknown", "burnt")] == ["5", "2", "1", "3000"]
    # 100 ± 2.2281 sqrt((500 * 0.02)² + (4 + 3)²): the same trucks are unknown in both months.
    assert three(year, "extra") == ("100", "73", "127")
    assert (year["burnt"], year["co2"], year["money"]) == ("5900", "270", "120")
    (said,) = fuel({"fuel_cost": held}, MARCH, "the fleet")
    assert "cost 100 L of fuel in twelve months (73 to 127 L), worth 120 EUR (88 to 152)" in said


def test_a_month_after_the_last_trips_has_no_cost(fit):
    total(fit, make_bay(), MARCH.number)
    assert cost_table(read_records(Month(date(2025, 4, 1)), None)).rows == ()


def test_a_depots_cost_is_of_its_own_trucks(fit):
    bay, other = make_bay(), make_bay()
    total(fit, bay, MARCH.number)
    total(fit, other, MARCH.number, extra_litres=500.0)
    assert cost_table(read_records(MARCH, bay.depot)).named()[0]["extra"] == "60"


def test_units_that_lost_most_come_first_with_limits(fit):
    for litres in (90.0, 200.0):
        bay = make_bay()
        FuelLoss.objects.create(
            fit=fit, turbocharger=bay.turbocharger, truck=bay.truck, month=MARCH.number, shortfall_mm=0.1,
            excess_mm=0.0, effect=0.02, effect_se=0.005, dof=10, litres_month=9, litres_month_se=1, litres_year=litres,
            litres_year_se=30, litres_all=litres, litres_all_se=30, money_year=2 * litres, currency="EUR",
        )  # fmt: skip
    first, second = loss_table(read_records(MARCH, None)).named()
    assert first["serial"] == bay.turbocharger.serial
    # exp(0.02 ± 2.2281 * 0.005) - 1, and 200 ± 2.2281 * 30 L at 2 EUR.
    assert three(first, "more_fuel") == ("2.0", "0.9", "3.2")
    assert three(first, "litres") == ("200", "133", "267")
    assert (*three(first, "money"), first["currency"]) == ("400", "266", "534", "EUR")
    assert second["litres"] == "90"


def restore(bay: Any, looked: Any, day: str, **changes: Any) -> None:
    check = looked(bay, day, "20", left="59.5")
    told = {"change": -0.04, "standard_error": 0.01, "dof": 20.0, "controls": 7, "litres_since": 1000.0}
    Restoration.objects.create(
        truck=bay.truck, month=MARCH.number, day=date.fromisoformat(f"2025-{day}"), turbocharger=bay.turbocharger,
        means="turned", check_made=check, side="outside_low", beyond_mm=0.457, months_before=6, months_after=3,
        code_version="1", **{**told, **changes},
    )  # fmt: skip


def test_before_and_after_event_by_event_and_all_together(looked):
    untold = {"change": None, "standard_error": None, "dof": None, "controls": 0, "reason": "Too new."}
    restore(make_bay(), looked, "02-10")
    restore(make_bay(), looked, "02-20", change=-0.02, litres_since=500.0)
    restore(make_bay(), looked, "03-20", **untold)
    restore(make_bay(), looked, "04-01")  # after the month
    records = read_records(MARCH, None)
    new, second, first = restored_table(records).named()
    # exp(-0.04 ± 2.0860 * 0.01) - 1; without it the months since would have burnt 1000 exp(0.04) L.
    assert three(first, "change") == ("-3.9", "-5.9", "-1.9")
    assert three(first, "saved") == ("41", "19", "63")
    assert three(second, "change") == ("-2.0", "-4.0", "0.1")
    assert (new["change"], new["saved"], new["reason"], first["reason"]) == ("", "", "Too new.", "")
    assert (first["stood"], first["beyond"], first["controls"]) == ("outside low", "0.457", "7")
    held = together_table(records)
    (row,) = held.named()
    assert [row[key] for key in ("events", "told", "less")] == ["3", "2", "1"]
    # Weights alike: -0.03; tau² = (2 - 1) / 10⁴, error sqrt(5000 * 2 * 10⁻⁴ / 10⁴) = 0.01;
    # exp(-0.03 ± 12.706 * 0.01) - 1.
    assert three(row, "change") == ("-3.0", "-14.5", "10.2")
    # 40.8 + 10.1 ± sqrt(21.7² + 10.6²), half the widths of their limits.
    assert three(row, "saved") == ("51", "27", "75")
    (said,) = restored({"restorations_together": held}, MARCH, "the fleet")
    assert "Of two trucks" in said
    assert "1 burnt less by more than chance explains; on average −3.0 (−14.5 to 10.2) %." in said


def test_nothing_restored_has_no_row():
    assert together_table(read_records(MARCH, None)).rows == ()
