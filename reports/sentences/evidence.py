"""The evidence on a complaint in sentences: what the wastegate was doing on the day, and what fuel did."""

from datetime import date

from checks.display import chance_text, day_text, length_text, measured_text
from checks.rules.evidence import Basis, Judged, Look, Where
from checks.selectors.evidence import Carried, Weighed
from fleet.models import Complaint
from reports.words.grammar import count_of

STATES = {
    Where.OUTSIDE_LOW: "below its window",
    Where.OUTSIDE_HIGH: "above its window",
    Where.INSIDE: "inside its window",
}
FOUND = {
    "inside": "inside its window", "outside_low": "below its window", "outside_high": "above its window",
    "undecided": "too near a limit for its instruments to decide", "void": "nothing: the stroke was void",
}  # fmt: skip


def evidence_sentence(found: Weighed, complaint: Complaint, unit: str) -> str:
    """What each wastegate was doing on the day, the most pressing first, and what fuel did."""
    evidence = found.evidence
    if not evidence.units:
        travel = f"No turbocharger is on record on truck {complaint.truck} on {day_text(complaint.raised_on)}."
    else:
        lines = [_travel(judged, found.carried_as(judged.stand.name), complaint, unit) for judged in evidence.units]
        travel = " ".join(lines)
    return f"{travel} {fuel_sentence(found)}"


def fuel_sentence(found: Weighed) -> str:
    """Adjusted use against the truck's own level, or why it is not known."""
    said = found.fuel
    if said is None:
        if not found.months:
            return "What fuel did is not known: no trips are on record around that time."
        return "What fuel did is not known: there are too few months of trips to tell the truck's own level."
    limits = f"{_percent(said.low)} to {_percent(said.high)} %"
    alarm = "; its thirst alarm stood" if said.alarm else ""
    if said.low > 0:
        return f"Fuel use was {_percent(said.change)} % ({limits}) above the truck's own level{alarm}."
    if said.high < 0:
        low, high = _percent(-said.high), _percent(-said.low)
        return f"Fuel use was {_percent(-said.change)} % ({low} to {high} %) below the truck's own level{alarm}."
    return f"Fuel use cannot be told from the truck's own level ({_signed(said.low)} to {_signed(said.high)} %){alarm}."


def _travel(judged: Judged, carried: Carried, complaint: Complaint, unit: str) -> str:
    who = "The wastegate" if carried.position == "single" else f"The {carried.position} wastegate"
    look = judged.stand.since
    if judged.basis == Basis.CHECK_SINCE and look is not None:
        when = f"{who} was checked on {day_text(look.on)}, {_days(look.on, complaint.raised_on)} the complaint"
        return f"{when}, and found {_found(look, unit)}{_beyond(look, carried, unit)}{_left(look)}."
    if judged.basis == Basis.FORECAST:
        return _forecast(who, judged, carried, complaint, unit)
    look = judged.stand.before
    if judged.basis == Basis.LAST_CHECK and look is not None:
        age = (complaint.raised_on - look.on).days
        found = f"{_found(look, unit)}{_left(look)}"
        ago = f"on {day_text(look.on)}, {count_of(age, 'day')} earlier"
        return f"{who} was last checked {ago}, and found {found}; no forecast reaches the day of the complaint."
    return f"{who} had not been checked since it was fitted, so where it stood is not known."


def _forecast(who: str, judged: Judged, carried: Carried, complaint: Complaint, unit: str) -> str:
    told, before = judged.stand.forecast, judged.stand.before
    if told is None:
        return ""
    travel = measured_text(told.travel_mm, 2 * told.sd_mm, unit)
    chance = f"chance of being outside {chance_text(judged.chance or 0.0)}"
    rests = f"forecast from {'its check of ' + day_text(before.on) if before else 'its readings'}"
    day = day_text(complaint.raised_on)
    if judged.where in STATES:
        far = _distance(told.travel_mm, carried, unit)
        sentence = f"{who} stood {far}{STATES[judged.where]} on {day} ({travel}, {rests}; {chance})."
    else:
        whether = f"Whether {who[0].lower()}{who[1:]} stood inside its window on {day} cannot be told"
        sentence = f"{whether} ({travel}, {rests}; {chance})."
    if judged.trusted:
        return sentence
    last = judged.stand.since or before
    return f"{sentence} Its last check, on {day_text(last.on)}, was {last.state}." if last else sentence


def _found(look: Look, unit: str) -> str:
    reading = f" ({measured_text(look.travel_mm, look.expanded_mm, unit)})" if look.travel_mm is not None else ""
    return f"{FOUND[look.state]}{reading}"


def _beyond(look: Look, carried: Carried, unit: str) -> str:
    if look.travel_mm is None or look.state not in {"outside_low", "outside_high"}:
        return ""
    far = _distance(look.travel_mm, carried, unit)
    return f", {far.strip()} beyond its limit" if far else ""


def _distance(travel_mm: float, carried: Carried, unit: str) -> str:
    """How far beyond the nearer limit, with a blank behind; empty inside, or without a window."""
    held = carried.window
    if held is None or held.lower_mm <= travel_mm <= held.upper_mm:
        return ""
    far = held.lower_mm - travel_mm if travel_mm < held.lower_mm else travel_mm - held.upper_mm
    return f"{length_text(far, unit)} "


def _left(look: Look) -> str:
    if not look.left:
        return ""
    return "; it was left inside" if look.left == "inside" else f"; as left it was {look.left.replace('_', ' ')}"


def _days(later: date, earlier: date) -> str:
    days = (later - earlier).days
    return "on the day of" if days == 0 else f"{count_of(days, 'day')} after"


def _percent(share: float) -> str:
    return f"{100 * share:.1f}".replace("-", "−")


def _signed(share: float) -> str:
    return _percent(share) if share < 0 else f"+{_percent(share)}"
