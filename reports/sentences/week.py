"""The sentence that opens the depot week."""

from checks.display import day_text
from reports.selectors.week import Week
from reports.words.grammar import capital, count_of, listing, number, verb


def week_sentence(week: Week) -> str:
    """Such as ``Fourteen checks are planned from 26 Nov to 2 Dec 2026, two of them past their limit.``"""
    cards = [card for day in week.days for card in day.cards]
    span = f"from {week.first.day} {week.first:%b} to {day_text(week.last)}"
    if not cards and not week.unplaced_total:
        return f"Nothing is planned {span}."
    text = f"{capital(count_of(len(cards), 'check'))} {verb(len(cards), 'is', 'are')} planned {span}"
    late = sum(card.past_limit for card in cards)
    if late:
        text += f", {number(late)} of them past {verb(late, 'its', 'their')} limit"
    over = [day for day in week.days if day.over]
    if over:
        names = listing([f"{day.on:%A}" for day in over])
        text += f". {names} {verb(len(over), 'holds', 'hold')} more than the bay can make"
    if week.unplaced_total:
        text += f". {capital(count_of(week.unplaced_total, 'due check'))} found no day"
    return f"{text}."
