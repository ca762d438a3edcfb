"""A verdict, and the advice that follows from it, in one sentence each."""

from checks.components.state_word import STATE_WORDS
from checks.components.window_strip import Window
from checks.display import chance_text, length_text, measured_text
from checks.measurement.result import Advice, Assessment


def verdict_sentence(result: Assessment, window: Window, *, unit: str) -> str:
    """The verdict, such as ``Inside: 1.511 ± 0.034 mm, with a conformance probability of over 99 %.``

    `unit` is the viewer's unit of length (mm, in, thou).
    """
    word = STATE_WORDS[result.state.value].capitalize()
    if result.state == "void":
        why = " ".join(void.sentence for void in result.voids)
        return f"Void, there is no verdict. {why}".strip()
    if result.travel_mm is None or result.p_inside is None:
        return f"{word}."
    reading = measured_text(result.travel_mm, result.expanded_uncertainty_mm, unit)
    chance = f"conformance probability of {chance_text(result.p_inside)}"
    limit = _nearer_limit(result.travel_mm, window, unit)
    if result.state == "inside":
        return f"{word}: {reading}, with a {chance}."
    if result.state == "undecided":
        return f"{word}: {reading} lies too close to {limit} for these instruments, with a {chance}."
    side = "below" if result.state == "outside_low" else "above"
    return f"{word}: {reading} lies {side} {limit}, with a {chance}."


def advice_sentence(advice: Advice, *, unit: str) -> str:
    """What to turn and what to expect of it, or why there is no advice; empty where nothing was asked."""
    if advice.half_turns is None:
        return advice.refusal or ""
    if advice.half_turns == 0:
        return "Leave the rod as it is."
    text = f"{half_turns_text(advice.half_turns).capitalize()}"
    if advice.predicted_mm is None:
        return f"{text}."
    text += f": {measured_text(advice.predicted_mm, advice.predicted_expanded_mm, unit)} is to be expected"
    if advice.predicted_p_inside is not None:
        text += f", inside with a chance of {chance_text(advice.predicted_p_inside)}"
    return f"{text}."


def half_turns_text(half_turns: int) -> str:
    """Such as ``3 half turns longer``; a positive number lengthens the rod."""
    if half_turns == 0:
        return "rod not turned"
    noun = "half turn" if abs(half_turns) == 1 else "half turns"
    return f"{abs(half_turns)} {noun} {'longer' if half_turns > 0 else 'shorter'}"


def _nearer_limit(travel_mm: float, window: Window, unit: str) -> str:
    if abs(travel_mm - window.lower_mm) < abs(travel_mm - window.upper_mm):
        return f"the lower limit of {length_text(window.lower_mm, unit)}"
    return f"the upper limit of {length_text(window.upper_mm, unit)}"
