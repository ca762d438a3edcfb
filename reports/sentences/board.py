"""The sentences that open lists of units: the board, and what is to be seen again."""

from collections.abc import Mapping, Sequence
from datetime import date

from checks.display import day_text
from reports.selectors.board import Board
from reports.selectors.changes import Change, week_before
from reports.selectors.due import DueList
from reports.selectors.places import Place, name_of
from reports.words.grammar import capital, count_of, listing, number, verb

NAMED = 4
NO_UNIT = "No turbocharger is on record at your depots yet."


def board_sentence(board: Board, *, find: str = "") -> str:
    """What changed within a week, how many units are about to leave their window, how many checks are overdue."""
    if find:
        return f"{capital(count_of(board.total, 'unit'))} {verb(board.total, 'matches', 'match')} “{find}”."
    late = f"{capital(count_of(board.overdue, 'check'))} {verb(board.overdue, 'is', 'are')} overdue."
    changed = changes_sentence(board.changes, board.places, since=week_before(board.today))
    return " ".join(filter(None, [changed, _leaving(board), late]))


def _leaving(board: Board) -> str:
    if not board.leaving:
        return ""
    be = verb(board.leaving, "is", "are")
    return f"{capital(count_of(board.leaving, 'unit'))} {be} forecast to leave before {day_text(board.horizon)}."


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
    return f"{text}; {number(mended)} of them {verb(mended, 'stands', 'stand')} inside again."


def due_sentence(due: DueList, horizon: str) -> str:
    """Such as ``Four checks are overdue; nine more are due within 30 days.``"""
    late = f"{capital(count_of(due.overdue, 'check'))} {verb(due.overdue, 'is', 'are')} overdue"
    coming = due.due - due.overdue
    more = count_of(coming, "more", "more") if coming else "none"
    told = f"{late}; {more} {verb(coming, 'is', 'are')} due within {horizon}."
    return f"{told} {_new(due.unplanned)}" if due.unplanned else told


def _new(units: int) -> str:
    days = verb(units, "its day", "their days")
    return f"{capital(count_of(units, 'unit'))} came in just now: {days} will stand here within a minute."


def _names(changes: Sequence[Change], places: Mapping[int, Place]) -> str:
    names = [_name(change, places.get(change.turbocharger)) for change in changes[:NAMED]]
    if len(changes) > NAMED:
        names.append(f"{len(changes) - NAMED:,} more")
    return listing(names)


def _name(change: Change, place: Place | None) -> str:
    return f"{name_of(place, change.serial, side=True)} ({change.state.removeprefix('outside_')})"
