"""Units to speak of: outside their window, about to leave it, adjusted again and again."""

from datetime import timedelta
from itertools import pairwise
from statistics import median
from typing import Any

from checks.models import Standing
from checks.selectors.policy import current_policy
from reports.export.frozen import Column, Table, table
from reports.review.found import OUTSIDE
from reports.review.records import Records
from reports.review.states import WORDS, states_on

NAMES = (
    Column("truck", "truck", "Unit number of the truck that carried it at the end of the month."),
    Column("serial", "serial number", "Serial number of the turbocharger."),
    Column("model", "model", "Turbocharger model."),
    Column("depot", "depot", "Depot of the unit."),
)


def names_of(records: Records, unit: int) -> tuple[str, str, str, str]:
    """The cells of `NAMES`."""
    row = records.units[unit]
    return records.place(unit, records.month.last), row.serial, row.model, row.depot


def outside_table(records: Records) -> Table:
    """Units outside at the month's end, the farthest first."""
    rows: list[tuple[Any, ...]] = []
    for unit, state in states_on(records, records.month.last).items():
        check = records.last_check(unit, records.month.last)
        shown = check.shown if check else None
        if state not in OUTSIDE or check is None or shown is None or shown.travel_mm is None:
            continue
        away = check.lower_mm - shown.travel_mm if state == "outside_low" else shown.travel_mm - check.upper_mm
        rows.append(
            (*names_of(records, unit), WORDS[state], check.day, shown.travel_mm, shown.expanded_mm, check.lower_mm,
             check.upper_mm, away)
        )  # fmt: skip
    rows.sort(key=lambda row: (-row[-1], row[1]))
    return table(
        "outside_units",
        "Outside at the end of the month",
        "Units whose last check left them outside their window, the farthest out first.",
        (
            *NAMES,
            Column("state", "state", "Outside low or outside high."),
            Column("checked_on", "last check", "Day of the last check.", "day"),
            Column("travel", "travel", "Rod travel at the setting.", "number", "mm", 3),
            Column("expanded_uncertainty", "U", "Expanded uncertainty of the travel, about 95 %.", "number", "mm", 3),
            Column("lower_limit", "lower limit", "Lower limit of the window it was judged by.", "number", "mm", 3),
            Column("upper_limit", "upper limit", "Upper limit of the window it was judged by.", "number", "mm", 3),
            Column("beyond", "beyond the limit", "How far the travel lies beyond the limit.", "number", "mm", 3),
        ),
        rows,
    )


def leaving_table(records: Records) -> Table:
    """Units that the forecast sees leaving, the soonest first. Forecasts of past days are not kept."""
    policy = current_policy()
    rows = Standing.objects.filter(leaving=True, turbocharger__in=list(records.units), turbocharger__scrapped_on=None)
    if records.depot is None:
        rows = Standing.objects.filter(leaving=True, turbocharger__scrapped_on=None)
    columns = ("turbocharger", "leaves_on", "p_outside_now", "derived_at")
    found = [
        (*names_of(records, unit), leaves_on, None if chance is None else 100 * chance, derived_at.date())
        for unit, leaves_on, chance, derived_at in rows.order_by("leaves_on", "turbocharger").values_list(*columns)
        if unit in records.units
    ]
    return table(
        "leaving_units",
        "About to leave their window",
        f"Units with a chance of {100 * policy.leaving_level:.0f} % or more to be outside within {policy.horizon_days} "
        "days of the forecast's day, and count as inside or were never checked.",
        (
            *NAMES,
            Column("leaves_on", "leaves about", "Day on which that chance is reached.", "day"),
            Column(
                "chance_outside", "chance outside", "Chance of being outside on the forecast's day.", "number", "%", 1
            ),
            Column("forecast_on", "forecast of", "Day of the forecast.", "day"),
        ),
        found,
        note="From the forecasts as they stood when the review was run; forecasts of past days are not kept.",
    )


def adjuster_table(records: Records) -> Table:
    """Units whose rod was turned at two or more checks of twelve months."""
    began = records.month.year_began
    rows: list[tuple[Any, ...]] = []
    for unit in records.units:
        turned = [check for check in records.checks_of.get(unit, ()) if check.adjusted and check.day >= began]
        days = [check.day for check in turned]
        if len(days) < 2:
            continue
        gaps = [(b - a) // timedelta(days=1) for a, b in pairwise(days)]
        last = records.last_check(unit, records.month.last)
        shown = last.shown if last else None
        rows.append(
            (*names_of(records, unit), len(days), sum(check.half_turns for check in turned), days[0], days[-1],
             median(gaps), WORDS[shown.state] if shown else "")
        )  # fmt: skip
    rows.sort(key=lambda row: (-row[4], row[1]))
    return table(
        "repeat_adjusters",
        "Adjusted again and again",
        "Units whose rod was turned at two or more checks of the twelve months that end with this one.",
        (
            *NAMES,
            Column("adjustments", "adjustments", "Checks at which the rod was turned.", "number"),
            Column("half_turns", "half turns", "Their sum; positive is a longer rod.", "number"),
            Column("first_on", "first", "Day of the first of them.", "day"),
            Column("last_on", "last", "Day of the last of them.", "day"),
            Column("days_between", "days between", "Median days between two of them.", "number", "days", 1),
            Column("state", "now", "State since the last check."),
        ),
        rows,
        note=(
            "A rod that must be turned again has often another cause: a worn pivot, a tired spring, a leak, or a nut "
            "that does not lock. Look for it by the manufacturer's current service information."
        ),
    )
