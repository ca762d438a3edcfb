"""The sentence that opens the page of upkeep."""

from datetime import datetime, timedelta

from fleet.selectors.upkeep import FAILED_DAYS, FailedRow, KindRow
from reports.words.grammar import capital, count_of, number


def upkeep_sentence(work: list[KindRow], failed: list[FailedRow], now: datetime) -> str:
    """Such as ``3 jobs wait, the oldest for 4 minutes; 1 runs; 2 failed in the last 30 days.``"""
    waiting, running = sum(row.waiting for row in work), sum(row.running for row in work)
    parts = []
    if waiting:
        oldest = min(row.oldest_at for row in work if row.oldest_at)
        parts.append(
            f"{count_of(waiting, 'job')} {'waits' if waiting == 1 else 'wait'}, the oldest for {age(now - oldest)}"
        )
    else:
        parts.append("no job waits")
    parts.append(f"{number(running)} {'runs' if running == 1 else 'run'}" if running else "none runs")
    parts.append(f"{number(len(failed)) if failed else 'none'} failed in the last {FAILED_DAYS} days")
    return capital("; ".join(parts)) + "."


def age(passed: timedelta) -> str:
    """A span in the largest unit that leaves a whole number, such as ``4 minutes``."""
    seconds = max(0, int(passed.total_seconds()))
    for size, unit in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        if seconds >= size:
            return count_of(seconds // size, unit)
    return count_of(seconds, "second")
