"""Where each unit stood on a day by its records, and how units moved between two days."""

from collections import Counter
from datetime import date

from checks.models import Standing
from reports.export.frozen import Chart, Column, Table, table
from reports.review.records import Records

ABSENT = "not in use"
NEVER = Standing.State.NEVER.value
WORDS: dict[str, str] = {str(state.value): str(state.label) for state in Standing.State}
ORDER = ("inside", "outside_low", "outside_high", "undecided", "void", NEVER)
RULE = (
    "A unit's state on a day is that of the last check made by that evening: as left where the rod was turned, else as "
    "found. Verdicts are those that counted when the review was run. A unit is in use from the day it was received to "
    "the day it was scrapped."
)


def states_on(records: Records, day: date) -> dict[int, str]:
    """State of each unit in use on the evening of `day`, by primary key."""
    found = {}
    for pk, unit in records.units.items():
        if unit.in_use(day):
            check = records.last_check(pk, day)
            shown = check.shown if check else None
            found[pk] = NEVER if check is None else shown.state if shown else "void"
    return found


def flows(before: dict[int, str], now: dict[int, str]) -> Counter[tuple[str, str]]:
    """How many units went from one state to another; every unit of either day counts once."""
    return Counter((before.get(unit, ABSENT), now.get(unit, ABSENT)) for unit in {*before, *now})


def state_table(records: Records) -> Table:
    """Units by state now and a month ago."""
    before, now = (Counter(states_on(records, day).values()) for day in (records.month.before, records.month.last))
    total = sum(now.values())
    rows = [
        (
            WORDS[state],
            before[state],
            now[state],
            now[state] - before[state],
            100 * now[state] / total if total else None,
        )
        for state in ORDER
    ]
    rows.append(("all", sum(before.values()), total, total - sum(before.values()), 100.0 if total else None))
    return table(
        "fleet_state",
        "State of the fleet",
        "Units by state at the end of the month and of the month before.",
        (
            Column("state", "state", "State of the unit by its last check; 'all' is the sum."),
            Column("units_before", "month before", "Units at the end of the month before.", "number"),
            Column("units", "this month", "Units at the end of the month.", "number"),
            Column("change", "change", "Difference of the two.", "number"),
            Column("share", "share", "Share of all units at the end of the month.", "number", "%", 1),
        ),
        rows,
        note=RULE,
        chart=Chart("bars", "state", ("units_before", "units"), "Units by state", "units", leave_out="all"),
    )


def flow_table(records: Records) -> Table:
    """From which state to which."""
    before, now = (states_on(records, day) for day in (records.month.before, records.month.last))
    order = {state: i for i, state in enumerate((*ORDER, ABSENT))}
    counted = sorted(flows(before, now).items(), key=lambda item: (order[item[0][0]], order[item[0][1]]))
    words = WORDS | {ABSENT: ABSENT}
    return table(
        "state_flows",
        "Moves between states",
        "How many units stood in one state at the end of the month before and in another, or the same, at its end.",
        (
            Column(
                "from_state", "from", "State at the end of the month before; 'not in use' for units received since."
            ),
            Column("to_state", "to", "State at the end of the month; 'not in use' for units scrapped since."),
            Column("units", "units", "Number of units.", "number"),
        ),
        [(words[old], words[new], count) for (old, new), count in counted],
    )
