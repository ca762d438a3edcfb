"""Complaints against travel in sentences."""

from reports.selectors.complaint_study import Ratio, StudyPage
from reports.words.grammar import capital, count_of

SIDES = {"overall": "outside its window", "low": "below its window", "high": "above its window"}


def study_sentence(page: StudyPage) -> str:
    """Such as ``The odds of a fuel complaint were 3.2 times as high (1.9 to 5.4) while ...``, or why it is not told."""
    if page.made_at is None:
        return "Whether complaints go with travel cannot be told yet: no month of a truck has trips and a fuel fit."
    ratio, when = page.ratios["overall"], lag_words(page.lag)
    if not ratio.told:
        return f"Whether complaints go with travel cannot be told yet: {_why(page)}."
    counts = f"{ratio_text(ratio).replace('times', 'times as high', 1)} {when}"
    if ratio.low > 1.0:
        return f"Fuel complaints go with travel outside the window: their odds were {counts} as while it stood inside."
    if ratio.high is not None and ratio.high < 1.0:
        return (
            f"Fuel complaints were rarer while travel was outside: their odds were {counts} as while it stood inside."
        )
    if ratio.high is None:
        return (
            "Fuel complaints cannot be told to go with travel: so few are on record that any odds from "
            f"{_number(ratio.low)} times upwards agree with them."
        )
    return (
        f"Fuel complaints cannot be told to go with travel: their odds were {counts} as while it stood inside, and the "
        "limits take in 1."
    )


def counts_sentence(page: StudyPage) -> str:
    """How many complaints at the viewer's depots travel explains, and the silent trucks."""
    explained, open_ = len(page.of_outcome("explained")), len(page.of_outcome("unexplained"))
    unknown, silent = len(page.of_outcome("unknown")), len(page.silent)
    where = "" if page.whole_fleet else " at your depots"
    verb = "was" if 1 in (len(page.heard), explained) else "were"
    first = (
        f"Of {count_of(len(page.heard), 'fuel complaint')}{where}, {explained} {verb} raised while travel was outside"
    )
    parts = f"{first} or had been within the lag, {open_} while it was inside, and of {unknown} travel is not known."
    if not page.heard:
        parts = f"No fuel complaint is on record{where}."
    if not silent:
        return f"{parts} No truck burns more with its wastegate outside while nobody complained."
    trucks = count_of(silent, "truck")
    burns, its = ("burn", "their") if silent > 1 else ("burns", "its")
    return f"{parts} {capital(trucks)} {burns} more with {its} wastegate outside, and nobody complained."


def side_sentence(page: StudyPage, side: str) -> str:
    """One side of the window by itself."""
    ratio = page.ratios[side]
    if not ratio.told:
        return f"Travel {SIDES[side].replace('its', 'the')}: not told, {_why(page)}."
    return f"Travel {SIDES[side].replace('its', 'the')}: odds {ratio_text(ratio)}."


def ratio_text(ratio: Ratio) -> str:
    """Such as ``3.2 times (1.9 to 5.4)``; ``at least`` where there is no upper bound."""
    if not ratio.told:
        return "not told"
    if ratio.estimate is None or ratio.high is None:
        return f"at least {_number(ratio.low)} times"
    return f"{_number(ratio.estimate)} times ({_number(ratio.low)} to {_number(ratio.high)})"


def lag_words(lag: int) -> str:
    """When travel counts as outside for a complaint."""
    if lag == 0:
        return "in months with the wastegate outside its window,"
    return f"while the wastegate stood outside its window, or had within the {count_of(lag, 'month')} before,"


def _why(page: StudyPage) -> str:
    if not page.heard and page.whole_fleet:
        return "nobody has filed a fuel complaint"
    return "no model at a depot has months both outside and inside with complaints among them"


def _number(value: float) -> str:
    return f"{value:.2f}" if value < 1 else f"{value:.1f}" if value < 20 else f"{value:,.0f}"
