"""How the effect of travel on fuel was found, in rows and words."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from checks.display import length_text
from checks.models import FuelFit
from checks.rules.fuel import Effect
from checks.selectors.fuel import Amount, effect_of
from reports.charts.fuel import INSIDE, half_width
from reports.pages.fuel_table import STATES
from reports.selectors.fuel import FuelPage
from reports.words.fuel import STEPS, Told, effect_text, months_text, told_share

# Months of one truck say nothing of others, so no limits can be told.
ONE_TRUCK = Told("one truck alone", "")


NAMES = {
    "payload_t": "payload, per t",
    "ascent_m_per_km": "ascent, per m/km",
    "speed_kmh": "mean speed, per km/h",
    "speed2": "its square",
    "idle_share": "share of idling",
    "temperature_c": "air temperature, per °C",
}


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
