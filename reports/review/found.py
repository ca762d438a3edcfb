"""What checks found: as-found results by model and depot with exact intervals, void strokes and their reasons."""

from collections import Counter
from collections.abc import Iterable
from datetime import date

from checks.models import Assessment
from checks.rules.intervals import exact_interval
from checks.vocabulary.methods import METHODS
from reports.export.frozen import Chart, Column, Table, Value, table
from reports.review.records import CheckRow, Records

ALL = "all"
OUTSIDE = ("outside_low", "outside_high")
DECIDED = ("inside", *OUTSIDE)
MONTH, YEAR = "month", "twelve months"
EXACT = METHODS["shares"].in_short


def share(found: int, of: int) -> tuple[Value, Value, Value]:
    """A share in per cent with its exact 95 % limits; nothing of nothing."""
    if not of:
        return None, None, None
    low, high = exact_interval(found, of)
    return 100 * found / of, 100 * low, 100 * high


def found_rows(records: Records) -> list[tuple[Value, ...]]:
    """Rows by period, model and depot, sums among them."""
    rows = []
    for period, since in ((MONTH, records.month.first), (YEAR, records.month.year_began)):
        checks = made_since(records, since)
        models = [name for name in records.models if any(check.model == name for check in checks)]
        names = [name for pk, name in records.depots.items() if any(check.depot == pk for check in checks)]
        for depot in (ALL, *(names if len(names) > 1 else ())):
            for model in (ALL, *models):
                rows.append((period, depot, model, *_counts(_of(records, checks, depot, model))))
    return rows


def made_since(records: Records, since: date) -> list[CheckRow]:
    """Checks made at the depots reviewed from `since` to the month's end."""
    return [check for check in records.checks if check.day >= since and records.here(check)]


def _of(records: Records, checks: Iterable[CheckRow], depot: str, model: str) -> list[CheckRow]:
    return [check for check in checks if model in (ALL, check.model) and depot in (ALL, records.depots[check.depot])]


def _counts(checks: list[CheckRow]) -> tuple[Value, ...]:
    states = Counter(check.found.state for check in checks if check.found)
    decided, outside = (sum(states[state] for state in group) for group in (DECIDED, OUTSIDE))
    asked = [check for check in checks if check.reason == "scheduled" and check.found and check.found.state in DECIDED]
    out = sum(check.found is not None and check.found.state in OUTSIDE for check in asked)
    counts = (len(checks), *(states[state] for state in (*DECIDED, "undecided", "void")))
    return (*counts, *share(outside, decided), len(asked), *share(out, len(asked)))


def found_table(records: Records) -> Table:
    """As-found results."""
    shares = "of the verdicts inside or outside"
    return table(
        "as_found",
        "As-found results",
        "What checks found before anybody turned the rod, for the month and for the twelve months that end with it.",
        (
            Column("period", "period", "The month, or the twelve months that end with it."),
            Column("depot", "depot", "Depot that made the checks; 'all' is their sum."),
            Column("model", "model", "Turbocharger model; 'all' is their sum."),
            Column("checks", "checks", "Checks made.", "number"),
            Column("inside", "inside", "As found inside the window.", "number"),
            Column("outside_low", "outside low", "As found below the window.", "number"),
            Column("outside_high", "outside high", "As found above the window.", "number"),
            Column("undecided", "undecided", "As found too near a limit to tell.", "number"),
            Column("void", "void", "As-found strokes that do not count.", "number"),
            Column("outside_share", "outside", f"Share outside {shares}.", "number", "%", 1),
            Column("outside_low_limit", "95 % from", "Its lower exact 95 % limit.", "number", "%", 1),
            Column("outside_high_limit", "95 % to", "Its upper exact 95 % limit.", "number", "%", 1),
            Column("scheduled_decided", "scheduled", "Scheduled checks with a verdict inside or outside.", "number"),
            Column("scheduled_share", "outside", "Share outside among those.", "number", "%", 1),
            Column("scheduled_low_limit", "95 % from", "Its lower exact 95 % limit.", "number", "%", 1),
            Column("scheduled_high_limit", "95 % to", "Its upper exact 95 % limit.", "number", "%", 1),
        ),
        found_rows(records),
        note=(
            f"{EXACT} Checks for a complaint, repeats and looks after an adjustment are made where something is "
            "suspected: the share among scheduled checks is the one that speaks of the fleet."
        ),
        chart=Chart(
            "range",
            "model",
            ("outside_share", "outside_low_limit", "outside_high_limit"),
            "Share found outside, twelve months, by model",
            "% of verdicts",
            (("period", YEAR), ("depot", ALL)),
        ),
    )


def void_table(records: Records) -> Table:
    """Why strokes were void."""
    held = {check.pk for check in made_since(records, records.month.year_began)}
    recent = {check.pk for check in made_since(records, records.month.first)}
    void = Assessment.objects.filter(is_current=True, state=Assessment.State.VOID).order_by()
    if records.depot:
        void = void.filter(stroke__check_made__depot=records.depot)
    year: Counter[str] = Counter()
    month: Counter[str] = Counter()
    for check, voids in void.values_list("stroke__check_made", "result__voids").iterator(chunk_size=2000):
        if check in held:
            codes = {said["code"] for said in voids or ()}
            year.update(codes)
            month.update(codes if check in recent else ())
    return table(
        "void_reasons",
        "Why strokes were void",
        "Reasons for which strokes did not count; one stroke may have several.",
        (
            Column("reason", "reason", "Void condition."),
            Column("month", "this month", "Void strokes of the month with that reason.", "number"),
            Column("twelve_months", "twelve months", "Void strokes of the twelve months with that reason.", "number"),
        ),
        [
            (code.replace("_", " "), month[code], year[code])
            for code in sorted(year, key=lambda code: (-year[code], code))
        ],
    )
