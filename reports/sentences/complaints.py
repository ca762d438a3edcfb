"""Complaints in sentences: how many are open, how sure their evidence is, what to do next."""

from datetime import date

from checks.display import day_text
from checks.rules.evidence import Basis, Evidence, Step, Sure, Where
from checks.rules.recheck.open_complaint import ASKING
from checks.selectors.evidence import Weighed
from fleet.models import Complaint
from reports.words.grammar import capital, count_of

_OUTSIDE = frozenset({Where.OUTSIDE_LOW, Where.OUTSIDE_HIGH})
NEXT = {
    Step.RESTORE: "Put the wastegate right: the check since found it outside, and it was not left inside.",
    Step.CHECK_NOW: "Check it now.",
    Step.REPEAT: "Repeat the check: the last reading cannot be trusted to decide.",
    Step.WATCH: "The wastegate was restored: see whether the complaint ends, and close it with that.",
    Step.LOOK_ELSEWHERE: "Look elsewhere than at the wastegate first.",
    Step.RECORD_UNIT: "Record which turbocharger the truck carried then; without that nothing can be said.",
}
SURE = {
    Sure.WELL: "Well founded: a check that decided it was made soon after the complaint.",
    Sure.FAIRLY: "Fairly sure, and no more: see what it rests on.",
    Sure.POORLY: "Poorly founded: one reading carries it.",
    Sure.NOT: "The records do not decide where the wastegate stood.",
}


def list_sentence(open_ones: int, oldest: date | None, asking: int) -> str:
    """Such as ``Seven complaints are open, the oldest since 3 May 2026; five of them ask for a check.``"""
    if not open_ones or oldest is None:
        return "No complaint is open."
    verb = "is" if open_ones == 1 else "are"
    since = f"{'since' if open_ones == 1 else 'the oldest since'} {day_text(oldest)}"
    asks = "asks" if asking < 2 else "ask"
    some = count_of(asking, "of them", "of them") if asking else "none of them"
    rest = f"{some} {asks} for a check"
    if open_ones == 1:
        rest = "it asks for a check" if asking else "it asks for no check"
    return f"{capital(count_of(open_ones, 'complaint'))} {verb} open, {since}; {rest}."


def sure_sentence(evidence: Evidence) -> str:
    """How sure, and whether travel and fuel point the same way."""
    sentence = SURE[evidence.sure]
    if evidence.agrees is True:
        return f"{sentence} Travel and fuel both fit a wastegate outside its window; that does not prove it the cause."
    if evidence.agrees is False and evidence.where == Where.INSIDE and evidence.fuel == "more":
        return f"{sentence} The truck burns more, and not because its wastegate stands outside."
    if evidence.agrees is False and evidence.where != Where.INSIDE:
        return f"{sentence} Fuel does not bear it out."
    return sentence


def next_sentence(found: Weighed, complaint: Complaint) -> str:
    """What to do next."""
    evidence = found.evidence
    if complaint.closed_on is not None:
        return ""
    open_ended = evidence.step in {Step.CHECK_NOW, Step.REPEAT} and evidence.where not in _OUTSIDE
    if open_ended and complaint.kind not in ASKING:
        return "Look for nearer causes first: this kind of complaint asks for no check of the wastegate by itself."
    two = len(evidence.units) > 1
    which = f" ({evidence.units[0].stand.name})" if two and evidence.step != Step.LOOK_ELSEWHERE else ""
    sentence = NEXT[evidence.step].replace("wastegate", f"wastegate{which}", 1).replace("it now", f"it now{which}")
    if evidence.step == Step.LOOK_ELSEWHERE:
        checked = all(judged.basis == Basis.CHECK_SINCE for judged in evidence.units)
        sentence += "" if checked else " A check would confirm that it stands inside."
    return sentence
