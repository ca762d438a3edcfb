"""The sentence that opens the page of a unit."""

from checks.display import day_text
from reports.selectors.outlook import Outlook
from reports.selectors.unit import UnitPage
from reports.words.drift import going


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
        return "It came in just now: the day to see it stands here within a minute."
    if not standing.due_on:
        return page.why
    if standing.binding_rule == "risk" and standing.due_on == page.outlook.risk_on:
        return "See it by then."
    return f"See it by {day_text(standing.due_on)}. {page.why}"
