"""The sentences of a recall."""

from checks.display import day_text
from checks.models import Instrument, Recall
from checks.pages.instrument_facts import kept_unit
from checks.pages.numbers import number_text, quantity_text
from checks.selectors.recall import RecallRow
from fleet.models import User

# Kinds that are called shorter in a sentence than in a list.
SHORT: dict[str, str] = {
    Instrument.Kind.TRANSDUCER: "Transducer",
    Instrument.Kind.GAUGE: "Gauge",
    Instrument.Kind.COMMAND: "Command tool",
}
# Below this share of its range a reading is so small that its error is told as it is and not as a share.
SMALL = 0.02


def recall_sentence(row: RecallRow, user: User) -> str:
    """Such as ``Gauge B-2 read 8.5 % high when it came back; 15 checks since 3 Mar 2025 were judged with it; ...``."""
    recall = row.recall
    found = f"{_kind(recall.instrument)} {recall.instrument} read {error_text(recall, user)} when it came back"
    if recall.judged_at is None:
        return f"{found}. Its checks are being judged again; this page tells the outcome when that is done."
    if not row.checks:
        return f"{found}; no check was judged with it{_since(row)}."
    checks = f"{row.checks} check{_s(row.checks)}{_since(row)} {'was' if row.checks == 1 else 'were'} judged with it"
    flips = f"{row.flips or 'no'} verdict{_s(row.flips)} change{'s' if row.flips < 2 else ''}"
    # More verdicts than checks would puzzle whoever does not know that a check may hold two.
    each = ", as found and as left counted each" if row.flips > row.checks else ""
    return f"{found}; {checks}; {flips}{each}."


def error_text(recall: Recall, user: User) -> str:
    """The worst as-found error: a share of the reading, or the error itself near the low end of the range."""
    side = "high" if recall.worst_error > 0 else "low"
    if abs(recall.worst_indication) <= SMALL * (recall.instrument.range_high or 0.0):
        return f"{quantity_text(abs(recall.worst_error), kept_unit(recall.instrument), user, digits=3)} {side}"
    share = abs(recall.worst_error / recall.worst_indication)
    return f"{number_text(100 * share, digits=2)} % {side}"


def permissible_text(recall: Recall, user: User) -> str:
    """The worst point in full."""
    kept = kept_unit(recall.instrument)
    error = quantity_text(recall.worst_error, kept, user, digits=3)
    at = quantity_text(recall.worst_indication, kept, user, digits=4)
    limit = quantity_text(recall.worst_permissible, kept, user, digits=3)
    return f"Its error was {error} at an indication of {at}, where ±{limit} is permissible."


def period_text(recall: Recall) -> str:
    """Which checks are in question, and how they are judged."""
    until = day_text(recall.found.issued_on)
    if recall.went_wrong_on:
        day = day_text(recall.went_wrong_on)
        return (
            f"It is known to have gone wrong at once on {day}. Checks from that day until {until} are in question, "
            "and the whole error counts for each; earlier ones stand."
        )
    since = f"It was found good on {day_text(recall.since)}" if recall.since else "No certificate before tells it good"
    return (
        f"{since} and wrong on {until}; nobody knows when it changed. Each check between is judged twice more: as if "
        "the whole error had been there all the time, and as if it had grown evenly."
    )


def _kind(instrument: Instrument) -> str:
    name = str(instrument.get_kind_display())
    return SHORT.get(instrument.kind, name[:1].upper() + name[1:])


def _since(row: RecallRow) -> str:
    if row.recall.went_wrong_on:
        return f" since {day_text(row.recall.went_wrong_on)}"
    return f" since {day_text(row.recall.since)}" if row.recall.since else ""


def _s(count: int) -> str:
    return "" if count == 1 else "s"
