"""A unit's forecast along the axis of its drift chart."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from checks.display import length
from checks.measurement.units import convert
from checks.models import Forecast, Standing
from fleet.models import User
from reports.charts.fan import Fan, Sign
from reports.charts.layout import Place
from reports.selectors.fitments import FitmentRow
from reports.selectors.usage import run_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """Where usage since the present setting lies on the axis: km run since first fitted, or a moment."""

    by_distance: bool
    at: Callable[[float], Place]


def along_of(
    forecast: Forecast | None,
    standing: Standing | None,
    now: FitmentRow | None,
    fitments: Sequence[FitmentRow],
    *,
    by_distance: bool,
    run_km: float | None,
    today: date,
    user: User,
) -> Along | None:
    """How usage is placed; None where it cannot be: no forecast, not fitted, or no rate of use to turn it into days."""
    if forecast is None or now is None:
        return None
    if by_distance and forecast.fit.basis == "km":
        start = run_at([row.stay for row in fitments], now.pk, forecast.epoch_began_usage)
        if start is None and run_km is not None:
            start = max(0.0, run_km - forecast.usage_now)
        if start is not None:
            begin = start
            return Along(by_distance=True, at=lambda usage: convert(begin + usage, "km", user.distance_unit))
    rate = _per_day(forecast, standing, today)
    if rate is None:
        return None
    noon, used = datetime.combine(today, time(12), tzinfo=UTC), forecast.usage_now
    return Along(by_distance=False, at=lambda usage: noon + timedelta(days=(usage - used) / rate))


def fan_of(forecast: Forecast, standing: Standing | None, along: Along, *, today: date, unit: str) -> Fan:
    """The fan in the viewer's units, with the place of the next look."""
    rows = [(along.at(usage), tuple(length(mm, unit) for mm in travels)) for usage, *travels, _ in forecast.path]
    return Fan(rows=rows, again_at=_again(forecast, standing, along, today))


def signs_of(forecast: Forecast, places: Mapping[int, Place]) -> list[Sign]:
    """Readings against what was forecast, where the chart knows their place."""
    return [
        Sign(at=places[check], z=z, jumped=jumped, smoothed=smoothed, limit=limit)
        for check, _, z, jumped, smoothed, limit in forecast.innovations
        if check in places
    ]


def jumps_of(forecast: Forecast | None) -> frozenset[tuple[int, str]]:
    """Strokes that jumped: check and moment."""
    rows = forecast.innovations if forecast else []
    return frozenset((row[0], row[1]) for row in rows if row[3])


def risk_rule(standing: Standing | None) -> dict[str, Any] | None:
    """What the rule of risk asked, if it fired."""
    fired = standing.rules if standing else []
    return next((rule for rule in fired if rule["rule"] == "risk"), None)


def _per_day(forecast: Forecast, standing: Standing | None, today: date) -> float | None:
    """The rate that the plan went by, or the mean since the setting."""
    rule = risk_rule(standing)
    if rule and rule["inputs"].get("per_day"):
        return float(rule["inputs"]["per_day"])
    days = (today - forecast.epoch_began_on).days
    return forecast.usage_now / days if days > 0 and forecast.usage_now > 0 else None


def _again(forecast: Forecast, standing: Standing | None, along: Along, today: date) -> Place | None:
    """Where the next look lies, by the rate of use that the plan went by."""
    if standing is None or standing.due_on is None:
        return None
    if not along.by_distance:
        return datetime.combine(standing.due_on, time(12), tzinfo=UTC)
    rate = _per_day(forecast, standing, today)
    if rate is None:
        return None
    return along.at(max(0.0, forecast.usage_now + rate * (standing.due_on - today).days))
