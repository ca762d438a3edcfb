"""Rows of the page of fuel in words."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from checks.display import length_text
from checks.measurement.quantiles import NORMAL_95
from checks.models import FuelFit
from checks.rules.fuel import Effect
from checks.selectors.fuel import Amount, Cost, effect_of
from reports.charts.fuel import HIGH, INSIDE, LOW, half_width
from reports.selectors.fuel import PERIODS, FuelPage, LossRow
from reports.words.fuel import (
    STEPS,
    Told,
    effect_text,
    month_text,
    months_text,
    told_amount,
    told_share,
)

STATES = {LOW: "outside_low", INSIDE: "inside", HIGH: "outside_high"}
# Months of one truck say nothing of others, so no limits can be told.
ONE_TRUCK = Told("one truck alone", "")
# Priced now, but not in every month, or not in one currency: amounts that are not added up.
SEVERAL = Told("not in one price", "")
NAMES = {
    "payload_t": "payload, per t",
    "ascent_m_per_km": "ascent, per m/km",
    "speed_kmh": "mean speed, per km/h",
    "speed2": "its square",
    "idle_share": "share of idling",
    "temperature_c": "air temperature, per °C",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodLine:
    """What travel outside the window cost over a period."""

    name: str
    months: str
    litres: Told
    money: list[Told]
    co2: Told
    share: Told | None
    unpriced: Told | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LossLine:
    """One unit of the ranking in words."""

    pk: int
    name: str
    serial: str
    depot: str
    model: str
    state: str
    away: str
    effect: Told
    litres: Told
    money: Told | None
    co2: Told
    month: str
    thirsty: bool


def period_lines(costs: Mapping[str, Cost]) -> list[PeriodLine]:
    """One line a period."""
    return [
        PeriodLine(
            name=PERIODS[period],
            months=months_text(cost.first_month, cost.last_month),
            litres=told_amount(cost.litres, "L"),
            money=[told_amount(amount, currency) for currency, amount in cost.money.items()],
            co2=told_amount(cost.co2_kg, "kg"),
            share=_share(cost),
            unpriced=told_amount(cost.unpriced, "L") if cost.money and cost.unpriced else None,
        )
        for period, cost in costs.items()
    ]


def _share(cost: Cost) -> Told | None:
    return told_share(cost.litres.times(1 / cost.burnt_litres), 2) if cost.burnt_litres else None


def loss_lines(rows: Sequence[LossRow], unit: str) -> list[LossLine]:
    """The ranking in the viewer's units."""
    return [
        LossLine(
            pk=row.pk,
            name=row.unit_number,
            serial=row.serial,
            depot=row.depot,
            model=row.model,
            state=STATES.get(row.travel, "inside"),
            away=_away(row, unit),
            effect=told_share(row.effect),
            litres=told_amount(row.litres, "L"),
            money=told_amount(row.money, row.currency) if row.money else SEVERAL if row.currency else None,
            co2=told_amount(row.co2_kg, "kg"),
            month=month_text(row.month),
            thirsty=row.thirsty,
        )
        for row in rows
    ]


def _away(row: LossRow, unit: str) -> str:
    """How far out it is expected to stand, with its 95 % limits, such as ``by 0.21 mm (0.12 to 0.30)``."""
    if row.travel not in (LOW, HIGH):
        return ""
    mean, half = row.shortfall_mm if row.travel == LOW else row.excess_mm, NORMAL_95 * row.travel_sd_mm
    low, high = (length_text(max(0.0, limit), unit, with_unit=False) for limit in (mean - half, mean + half))
    return f"by {length_text(mean, unit)} ({low} to {high})"


def group_lines(page: FuelPage, unit: str) -> list[dict[str, Any]]:
    """The effects by model and depot, each with the trucks' worth of evidence behind it."""
    return [
        {
            "kind": group["kind"],
            "name": group["name"],
            "trucks": group["trucks"],
            **{side: _told(effect_of(group, side), unit) for side in ("shortfall", "excess")},
        }
        for group in page.groups
    ]


def _told(effect: Effect, unit: str) -> str:
    return effect_text(effect, unit) if effect.carried else "not told"


def point_lines(points: Sequence[Mapping[str, Any]], unit: str) -> list[dict[str, Any]]:
    """The points of the chart as a table."""
    lines = []
    for point in points:
        side = point["side"]
        at = f"{100 * point['at']:.0f} % of the window" if side == INSIDE else length_text(point["at"], unit)
        half = half_width(point)
        more = Amount(*(math.expm1(point["log_fuel"] + way * half) for way in (0, -1, 1))) if half is not None else None
        told = told_share(more) if more else ONE_TRUCK
        lines.append(
            {"state": STATES[side], "at": at, "more": told,
             "months": point["months"], "trucks": point["trucks"]}
        )  # fmt: skip
    return lines


def method_facts(page: FuelPage, fit: FuelFit, unit: str) -> dict[str, Any]:
    """What the folded method names."""
    terms = fit.estimates["terms"]
    return {
        "step": STEPS[unit][1],
        "sides": [
            {
                "name": name,
                "told": _told(page.effects[side], unit),
                "plain": _told(page.plain[side], unit),
                "trucks": f"{page.effects[side].trucks:.1f}",
                "carried": page.effects[side].carried,
            }
            for side, name in (("shortfall", "below the window"), ("excess", "above the window"))
        ],
        "others": [
            (NAMES[name], f"{beta:.5f}".replace("-", "−"))
            for name, beta, told in zip(terms[:-2], fit.estimates["beta"], fit.estimates["told"], strict=False)
            if told
        ],
        "months": months_text(fit.first_month, fit.last_month),
    }
