"""The sentence that opens a page."""

from collections.abc import Mapping, Sequence
from datetime import date

from checks.display import day_text
from reports.drift_words import going
from reports.selectors.board import Board
from reports.selectors.changes import Change, week_before
from reports.selectors.due import DueList
from reports.selectors.outlook import Outlook
from reports.selectors.places import Place
from reports.selectors.unit import UnitPage
from reports.words import capital, count_of, listing, number

NAMED = 4
NO_UNIT = "No turbocharger is on record at your depots yet."


def board_sentence(board: Board, *, today: date, find: str = "") -> str:
    """What changed within a week, how many units are about to leave their window, how many checks are overdue."""
    if find:
        return f"{capital(count_of(board.total, 'unit'))} {_verb(board.total, 'matches', 'match')} “{find}”."
    late = f"{capital(count_of(board.overdue, 'check'))} {_verb(board.overdue, 'is', 'are')} overdue."
    changed = changes_sentence(board.changes, board.places, since=week_before(today))
    return " ".join(filter(None, [changed, _leaving(board), late]))


def _leaving(board: Board) -> str:
    if not board.leaving:
        return ""
    verb = _verb(board.leaving, "is", "are")
    return f"{capital(count_of(board.leaving, 'unit'))} {verb} forecast to leave before {day_text(board.horizon)}."


def changes_sentence(changes: Sequence[Change], places: Mapping[int, Place], *, since: date) -> str:
    """Such as ``Two units were found outside their window since last Wednesday: 114 (high) and 131 (low).``"""
    when = f"since last {since:%A}"
    if not changes:
        return f"No unit was found outside its window {when}."
    many = len(changes) > 1
    text = f"{capital(count_of(len(changes), 'unit'))} {'were' if many else 'was'} found outside "
    text += f"{'their' if many else 'its'} window {when}: {_names(changes, places)}"
    mended = sum(change.mended for change in changes)
    if not mended:
        return f"{text}."
    if mended == len(changes):
        return f"{text}; {'all of them stand' if many else 'it stands'} inside again."
    return f"{text}; {number(mended)} of them {_verb(mended, 'stands', 'stand')} inside again."


def unit_sentence(page: UnitPage) -> str:
    """Such as ``Fitted 14 Mar 2025, 212,000 km run. Rising slowly; a 5 % chance of being outside is reached ...``"""
    if page.unit.scrapped_on:
        return f"Scrapped on {day_text(page.unit.scrapped_on)}."
    if page.now is None:
        return f"In stock, fitted to no engine. {_plan(page)}"
    run = f", {page.run} run" if page.run else ""
    parts = [f"Fitted {day_text(page.now.fitted_on)}{run}.", outlook_sentence(page.outlook), _plan(page)]
    return " ".join(filter(None, parts))


def outlook_sentence(outlook: Outlook) -> str:
    """Where the travel is going, on what that rests, and when the chance of being outside reaches the level."""
    told = outlook.forecast
    if told is None:
        return ""
    if told.readings == 0:
        own = "It has no reading of its own, so this is what its model forecasts"
    elif told.readings == 1:
        own = "It has one reading, so its drift is its model's"
    else:
        own = going(told.drift_mm, told.drift_u_mm, outlook.window_mm)
    level = f"a {100 * told.level:g} % chance of being outside"
    if told.due_usage is None or outlook.risk_on is None:
        return f"{own}; {level} is not within sight."
    if told.p_outside_now >= told.level:
        return f"{own}; its chance of being outside is {outlook.chance} now."
    return f"{own}; {level} is reached about {day_text(outlook.risk_on)}."


def _plan(page: UnitPage) -> str:
    standing = page.standing
    if standing is None:
        return "Its next check is not planned yet."
    if not standing.due_on:
        return page.why
    if standing.binding_rule == "risk" and standing.due_on == page.outlook.risk_on:
        return "See it by then."
    return f"See it by {day_text(standing.due_on)}. {page.why}"


def due_sentence(due: DueList, horizon: str) -> str:
    """Such as ``Four checks are overdue; nine more are due within 30 days.``"""
    late = f"{capital(count_of(due.overdue, 'check'))} {_verb(due.overdue, 'is', 'are')} overdue"
    coming = due.due - due.overdue
    return f"{late}; {count_of(coming, 'more', 'more')} {_verb(coming, 'is', 'are')} due within {horizon}."


def _names(changes: Sequence[Change], places: Mapping[int, Place]) -> str:
    names = [_name(change, places.get(change.turbocharger)) for change in changes[:NAMED]]
    if len(changes) > NAMED:
        names.append(f"{len(changes) - NAMED:,} more")
    return listing(names)


def _name(change: Change, place: Place | None) -> str:
    name = place.unit_number if place and place.unit_number else change.serial
    where = f" {place.position}" if place and place.position != "single" else ""
    return f"{name}{where} ({change.state.removeprefix('outside_')})"


def _verb(n: int, one: str, many: str) -> str:
    return one if n < 2 else many
