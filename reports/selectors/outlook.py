"""What the drift fit says of one unit, as its page tells it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from checks.components import ForecastToday, Window
from checks.display import chance_text
from checks.models import Forecast, Standing
from fleet.models import Turbocharger, User
from reports.charts.drift import drift_figure
from reports.charts.fan import signs_figure
from reports.selectors.drift import drift_of, places_in, readings_of
from reports.selectors.fan import along_of, fan_of, jumps_of, risk_rule, signs_of
from reports.selectors.fitments import FitmentRow
from reports.selectors.history import CheckRow
from reports.words.drift import PER, drift_text, rests_on


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Figures and words of a unit's drift; most are empty without a forecast."""

    drift_figure: dict[str, Any] | None
    signs_figure: dict[str, Any] | None = None
    forecast: Forecast | None = None
    forecast_today: ForecastToday | None = None
    jumped: frozenset[int] = frozenset()
    fanned: bool = False
    drift: str = ""
    per: str = ""
    rests_on: str = ""
    chance: str = ""
    risk_on: date | None = None
    leaves_on: date | None = None
    window_mm: float = 0.0


def forecast_of(unit: Turbocharger) -> Forecast | None:
    """The unit's forecast with its fit. One query."""
    return Forecast.objects.filter(turbocharger=unit).select_related("fit").first()


def outlook_of(
    forecast: Forecast | None,
    standing: Standing | None,
    checks: Sequence[CheckRow],
    fitments: Sequence[FitmentRow],
    window: Window | None,
    *,
    run_km: float | None,
    today: date,
    user: User,
) -> Outlook:
    """Draw readings and forecast on one axis: the distance run where it is known of all, else the day. No query."""
    rows = readings_of(checks)
    by_distance = all(row.run_km is not None for row in rows)
    now = next((row for row in fitments if row.removed_on is None), None)
    along = along_of(forecast, standing, now, fitments, by_distance=by_distance, run_km=run_km, today=today, user=user)
    by_distance = along.by_distance if along else by_distance
    fan = fan_of(forecast, standing, along, today=today, unit=user.length_unit) if forecast and along else None
    jumps = jumps_of(forecast)
    drift = drift_of(rows, window, user, by_distance=by_distance, jumps=jumps, fan=fan)
    figure = drift_figure(drift) if drift else None
    if forecast is None:
        return Outlook(drift_figure=figure)
    signs = signs_of(forecast, places_in(rows, user, by_distance=by_distance))
    along_words = f"distance since fitted, {user.distance_unit}" if by_distance else "day"
    rule = risk_rule(standing)
    return Outlook(
        drift_figure=figure,
        signs_figure=signs_figure(signs, along_words, "linear" if by_distance else "date") if signs else None,
        forecast=forecast,
        forecast_today=ForecastToday(travel_mm=forecast.travel_now_mm, sd_mm=forecast.travel_now_sd_mm),
        jumped=frozenset(check for check, _ in jumps),
        fanned=fan is not None,
        drift=drift_text(forecast.drift_mm, forecast.drift_u_mm, user.length_unit),
        per=PER[forecast.fit.basis],
        rests_on=rests_on(forecast.readings),
        chance=chance_text(forecast.p_outside_now),
        risk_on=date.fromisoformat(rule["by_usage"]) if rule and rule["by_usage"] else None,
        leaves_on=standing.leaves_on if standing else None,
        window_mm=window.upper_mm - window.lower_mm if window else 0.0,
    )
