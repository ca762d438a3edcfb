"""A unit's history as the drift chart draws it."""

from collections.abc import Collection, Sequence

from checks.components import MOMENT_WORDS, STATE_WORDS, Window
from checks.display import day_text, distance_text, length, measured_text
from checks.measurement.units import convert
from fleet.models import User
from reports.charts.drift import Drift, DriftPoint
from reports.charts.fan import Fan
from reports.charts.layout import Place
from reports.selectors.history import CheckRow
from reports.selectors.judged import Judged


def readings_of(checks: Sequence[CheckRow]) -> list[CheckRow]:
    """Checks with a travel, oldest first."""
    return [row for row in reversed(checks) if any(stroke.reading.travel_mm is not None for stroke in row.judged)]


def drift_of(
    rows: Sequence[CheckRow],
    window: Window | None,
    user: User,
    *,
    by_distance: bool,
    jumps: Collection[tuple[int, str]] = (),
    fan: Fan | None = None,
) -> Drift | None:
    """What the chart draws of checks with a travel, oldest first; None with neither reading nor fan, or no window.

    Along is the distance run, or the day.
    """
    if window is None or (not rows and fan is None):
        return None
    unit = user.length_unit
    return Drift(
        points=[
            _point(row, stroke, by_distance, user, (row.pk, stroke.reading.moment) in jumps)
            for row in rows
            for stroke in row.judged
            if stroke.reading.travel_mm is not None
        ],
        adjusted_at=[_at(row, by_distance, user) for row in rows if row.half_turns],
        lower=length(window.lower_mm, unit),
        nominal=length(window.nominal_mm, unit),
        upper=length(window.upper_mm, unit),
        length_unit=unit,
        distance_unit=user.distance_unit,
        by_distance=by_distance,
        fan=fan,
    )


def places_in(rows: Sequence[CheckRow], user: User, *, by_distance: bool) -> dict[int, Place]:
    """Where each check lies along the chart."""
    return {row.pk: _at(row, by_distance, user) for row in rows}


def _at(row: CheckRow, by_distance: bool, user: User) -> Place:
    if by_distance and row.run_km is not None:
        return convert(row.run_km, "km", user.distance_unit)
    return row.made_at


def _point(row: CheckRow, stroke: Judged, by_distance: bool, user: User, jumped: bool) -> DriftPoint:
    reading, unit = stroke.reading, user.length_unit
    travel, expanded = reading.travel_mm or 0.0, reading.expanded_mm
    run = f", {distance_text(row.run_km, user.distance_unit)} run" if row.run_km is not None else ""
    return DriftPoint(
        at=_at(row, by_distance, user),
        travel=length(travel, unit),
        expanded=length(expanded, unit) if expanded is not None else None,
        state=reading.state,
        as_left=reading.moment == "as_left",
        jumped=jumped,
        words=f"{day_text(row.made_at.date())}{run}<br>{MOMENT_WORDS[reading.moment]} "
        f"{measured_text(travel, expanded, unit)}, {STATE_WORDS[reading.state]}{', jumped' if jumped else ''}",
    )
