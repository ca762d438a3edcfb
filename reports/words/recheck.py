"""The rules of re-checks in three words each."""

# The rule that binds, in three words.
WHY = {
    "outside_left": "left outside window",
    "void": "last check void",
    "undecided": "last check undecided",
    "open_complaint": "complaint is open",
    "after_adjustment": "confirm the adjustment",
    "first_look": "first look due",
    "usage_maximum": "distance is reached",
    "calendar_maximum": "time is reached",
    "risk": "risk is reached",
    "instrument_recall": "instrument was recalled",
}


def why_in_short(rule: str) -> str:
    """Three words for the rule that binds; a rule unknown here goes by its own name."""
    return WHY.get(rule, rule.replace("_", " "))
