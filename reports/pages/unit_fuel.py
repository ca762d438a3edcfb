"""The fuel part of a unit's page."""

from calendar import monthrange
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from checks.display import day_text, length_text
from checks.models import Restoration
from checks.selectors.fuel import Amount
from fleet.models import User
from reports.charts.unit_fuel import unit_fuel_figure
from reports.selectors.fuel_months import MonthOfFuel
from reports.selectors.restored import restored_of
from reports.selectors.thirst import UnitFuel, unit_fuel
from reports.selectors.unit import UnitPage
from reports.sentences.restored import given_back
from reports.sentences.thirst import thirst_sentence
from reports.words.fuel import share_text


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelPart:
    """Sentence, picture and table."""

    truck: int
    unit_number: str
    sentence: str
    figure: dict[str, Any]
    rows: list[dict[str, Any]]
    restored: list[dict[str, Any]]


def fuel_part(page: UnitPage, user: User) -> FuelPart | None:
    """Of the truck that carries the unit; None where it is in none or has no fitted trips."""
    found = unit_fuel(page.now.truck_now if page.now else None)
    if found is None:
        return None
    return FuelPart(
        truck=found.fuel.truck,
        unit_number=found.fuel.unit_number,
        sentence=thirst_sentence(found.fuel, user.length_unit),
        figure=_figure(found),
        rows=[_row(month, found, user.length_unit) for month in found.fuel.months],
        restored=[{"day": day_text(row.day), "check": row.check_made_id, "words": _words(row)}
                   for row in found.restorations],
    )  # fmt: skip


def _figure(found: UnitFuel) -> dict[str, Any]:
    return unit_fuel_figure(
        [month.mark for month in found.fuel.months],
        complaints=[(row.raised_on, row.get_kind_display()) for row in found.complaints],
        restored=[(row.day, _words(row)) for row in found.restorations],
    )


def _row(month: MonthOfFuel, found: UnitFuel, unit: str) -> dict[str, Any]:
    said = [f"complaint, {row.get_kind_display()}" for row in found.complaints if _within(row.raised_on, month)]
    return {
        "month": month.first,
        "trips": _trips(month, found.fuel.unit_number),
        "above": _signed(month.above),
        "state": month.state,
        "beyond": length_text(month.beyond_mm, unit) if month.state.startswith("outside") else "",
        "alarm": month.alarm,
        "events": [*said, *("restored" for row in found.restorations if _within(row.day, month))],
    }


def _trips(month: MonthOfFuel, unit_number: str) -> str:
    """Where the trips of a month stand one by one."""
    last = monthrange(month.first.year, month.first.month)[1]
    wanted = {"truck": unit_number, "since": month.first, "until": month.first.replace(day=last)}
    return f"{reverse('fleet:trip_list')}?{urlencode(wanted)}"


def _within(day: Any, month: MonthOfFuel) -> bool:
    return (day.year, day.month) == (month.first.year, month.first.month)


def _signed(above: Amount) -> str:
    text = share_text(above.value, above.low, above.high)
    return text if text.startswith("−") else f"+{text}"


def _words(row: Restoration) -> str:
    told = restored_of(row)
    return f"it {given_back(told)}" if told.change else "what that gave back cannot be told"
