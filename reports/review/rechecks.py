"""Re-check performance: what fell due, what was done in time, what was not, and how many strokes were void."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from checks.rules.recheck.decide import decide
from checks.rules.recheck.open_complaint import ASKING
from checks.rules.recheck.unit import Limits, Seen, Unit, Use
from checks.selectors.plan import limits_of
from checks.selectors.policy import current_policy
from reports.export.frozen import Chart, Column, Table, Value, table
from reports.review.found import ALL, EXACT, made_since, share
from reports.review.records import CheckRow, Records

RULE = (
    "Due dates of past days are drawn again from the records by the rules that count in days, with the policy in force "
    "when the review was run; due dates from usage or from the forecast's risk are not kept for past days and do not "
    "count here. A date that falls due before the end of the month counts once; it is done by the unit's next check, "
    "in time on or before that date, and overdue where no check was made by the end of the month."
)
# A truck that never reaches any odometer: only days count.
STILL = Use(km_per_day=0.0, source="days alone")


@dataclass(frozen=True, slots=True)
class Due:
    """One date that fell due, and the day of the check that answered it, None while overdue."""

    unit: int
    depot: str
    rule: str
    on: date
    done_on: date | None

    @property
    def outcome(self) -> str:
        return "overdue" if self.done_on is None else "in_time" if self.done_on <= self.on else "late"


def dues_of(records: Records) -> list[Due]:
    """Every date that was open in the month and fell due by its end."""
    limits, month = limits_of(current_policy()), records.month
    found = []
    for pk, unit in records.units.items():
        if unit.in_use(month.before) or unit.in_use(month.last):
            for due in _dues(records, pk, limits):
                found.append(Due(pk, unit.depot, *due))
    return found


def _dues(records: Records, unit: int, limits: Limits) -> list[tuple[str, date, date | None]]:
    """One look at the start of the month, and one after each check in it."""
    month, checks = records.month, records.checks_of.get(unit, [])
    later = [check for check in checks if check.day >= month.first]
    out = []
    for begins, answer in zip([month.before, *(check.day for check in later)], [*later, None], strict=True):
        if answer is not None and answer.day == begins:
            continue  # two checks of one day are one visit
        asked = _asked(records, unit, begins, limits)
        if asked and asked[1] <= month.last:
            out.append((*asked, answer.day if answer else None))
    return out


def _asked(records: Records, unit: int, day: date, limits: Limits) -> tuple[str, date] | None:
    """The binding rule and its date, as the evening of `day` had it; None where the unit sat in no engine."""
    held = next(
        (row for row in records.fitments.get(unit, ()) if row[1] <= day and (row[2] is None or row[2] > day)), None
    )
    if held is None:
        return None
    last = records.last_check(unit, day)
    raised = _complaint(records, unit, day)
    binding = decide(
        Unit(
            fitted_on=held[1], use=STILL, seen=_seen(last) if last and last.fitment == held[0] else None,
            complaint_raised_on=raised[0] if raised else None, complaint_kind=raised[1] if raised else "",
        ),
        limits,
    ).binding  # fmt: skip
    return (binding.rule, binding.on) if binding else None


def _seen(last: CheckRow) -> Seen:
    shown = last.shown
    return Seen(on=last.day, state=shown.state if shown else "void", adjusted=last.left is not None)


def _complaint(records: Records, unit: int, day: date) -> tuple[date, str] | None:
    """The oldest complaint of its truck that asked for a check and was open then."""
    truck = next((row.truck for row in records.fitted.get(unit, ()) if row.holds(day)), None)
    for row in records.complaints.get(truck, ()) if truck else ():
        if row.kind in ASKING and row.raised_on <= day and (row.closed_on is None or row.closed_on > day):
            return row.raised_on, str(row.get_kind_display())
    return None


def recheck_table(records: Records) -> Table:
    """Due, done, overdue and void by depot."""
    dues = dues_of(records)
    names = sorted({unit.depot for unit in records.units.values()})
    checks = made_since(records, records.month.first)
    rows = [_row(records, name, dues, checks) for name in ([ALL] if len(names) < 2 else [ALL, *names])]
    return table(
        "rechecks",
        "Re-checks",
        "What was due in the month and what became of it, and the share of strokes that were void.",
        (
            Column("depot", "depot", "Depot of the unit; for checks and strokes the depot that made them."),
            Column("due", "due", "Dates that fell due by the end of the month.", "number"),
            Column("in_time", "in time", "Answered by a check on or before the date.", "number"),
            Column("late", "late", "Answered by a later check of the month.", "number"),
            Column("overdue", "overdue", "Not answered by the end of the month.", "number"),
            Column("answered_share", "answered", "Share of due dates answered.", "number", "%", 1),
            Column("checks", "checks made", "Checks made in the month, asked for or not.", "number"),
            Column("strokes", "strokes", "As-found and as-left strokes of those checks.", "number"),
            Column("void", "void", "Strokes among them that do not count.", "number"),
            Column("void_share", "void", "Share of strokes void.", "number", "%", 1),
            Column("void_low_limit", "95 % from", "Its lower exact 95 % limit.", "number", "%", 1),
            Column("void_high_limit", "95 % to", "Its upper exact 95 % limit.", "number", "%", 1),
        ),
        rows,
        note=f"{RULE} {EXACT}",
        chart=Chart(
            "bars", "depot", ("in_time", "late", "overdue"), "What became of due dates", "due dates", leave_out=ALL
        ),
    )


def _row(records: Records, name: str, dues: list[Due], checks: list[CheckRow]) -> tuple[Value, ...]:
    ours = [due for due in dues if name in (ALL, due.depot)]
    made = [check for check in checks if name in (ALL, records.depots[check.depot])]
    strokes = [verdict for check in made for verdict in (check.found, check.left) if verdict]
    void = sum(verdict.state == "void" for verdict in strokes)
    outcomes = Counter(due.outcome for due in ours)
    answered = outcomes["in_time"] + outcomes["late"]
    return (
        name, len(ours), outcomes["in_time"], outcomes["late"], outcomes["overdue"],
        100 * answered / len(ours) if ours else None, len(made), len(strokes), void, *share(void, len(strokes)),
    )  # fmt: skip


def overdue_table(records: Records) -> Table:
    """Units overdue at the month's end, the longest first."""
    late = sorted(
        (due for due in dues_of(records) if due.done_on is None),
        key=lambda due: (due.on, records.units[due.unit].serial),
    )
    end = records.month.last
    return table(
        "overdue_units",
        "Overdue at the end of the month",
        "Units whose date passed without a check, the longest overdue first.",
        (
            Column("truck", "truck", "Unit number of the truck that carried it."),
            Column("serial", "serial number", "Serial number of the turbocharger."),
            Column("model", "model", "Turbocharger model."),
            Column("depot", "depot", "Depot of the unit."),
            Column("rule", "why", "The rule that set the date."),
            Column("due_on", "due on", "The date.", "day"),
            Column("days_overdue", "overdue", "Days from the date to the end of the month.", "number", "days"),
        ),
        [
            (
                records.place(due.unit, end), records.units[due.unit].serial, records.units[due.unit].model, due.depot,
                due.rule.replace("_", " "), due.on, (end - due.on) // timedelta(days=1),
            )
            for due in late
        ],
    )  # fmt: skip
