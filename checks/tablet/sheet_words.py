"""What a tablet says of its own, and every text, step and unit that its sheet carries."""

from dataclasses import asdict
from typing import Any

from checks.components.state_word import STATE_WORDS
from checks.display import LENGTH_DECIMALS, STIMULUS_DECIMALS
from checks.measurement.evidence import EXERCISE_SHARE
from checks.models import Check
from checks.services.submission import HALF_TURNS_MOST
from checks.tablet.cautions import ALWAYS, BEFORE_TURNING, BY_STIMULUS, FIRST, IN_ONE_LINE, WHERE_ELECTRIC
from checks.tablet.sequence import EVERY, MOMENTS
from checks.tablet.sheet_units import units_on_sheet
from checks.tablet.words import (
    AWAY,
    BACK,
    EFFECT,
    LEADS,
    NEXT,
    NO_VERDICT,
    NOT_BACK,
    PHASES,
    SHORT_THEN,
    SLOW_FROM,
    UNSAFE,
    UNSAFE_THEN,
    VOID_THEN,
    WATCH,
    ZERO,
)

SHORT = "The actuator was exercised {done} of {wanted} times; a cycle counts from {least}."
NOT_VENTED = (
    "{typed} is too far from zero for a reading made vented. Enter what the instrument shows with the line open."
)
# A vented indication off by more than this share of the setting is asked about: common practice, no source.
ZERO_FAR_FROM = 0.1
ZERO_FAR = (
    "{typed} was entered, and vented, {label} should show about {vented}. Look whether the line is open, and enter "
    "what is shown. If it does show this, press Next once more."
)
# What a tablet says of its own: it compares with limits, and leaves all else to the server.
PROVISIONAL = {
    "note": (
        "Provisional: compared with the acceptance limits that this tablet brought along. The server judges the whole "
        "stroke with its budget when the check arrives, and its verdict counts."
    ),
    "inside": "{reading} lies inside the acceptance limits, {limits}.",
    "undecided": "{reading} lies too close to a limit for these instruments; from {limits} would prove the window.",
    "undecided-unproven": "{reading} cannot be decided: these instruments cannot prove this window.",
    "outside_low": "{reading} lies below the lower limit, {limit}, by more than these instruments can be wrong.",
    "outside_high": "{reading} lies above the upper limit, {limit}, by more than these instruments can be wrong.",
    "none": "No verdict here: {why} The server gives it when the check arrives.",
    "no-marks": "this tablet has no acceptance limits for this set of instruments.",
    "set-up": "this tablet's limits hold for a dial within 5 degrees of the rod whose angle was not measured.",
    "advice": "How many half turns comes from the server, once the check has arrived there.",
    "repeat": "Then make the whole stroke again.",
    "wait": "Go on as the manufacturer's service information says; the verdict comes once the check has arrived.",
}
VOIDS = {
    "above_maximum": "The actuator saw {seen}; {maximum} is the most allowed.",
    "no_setting_reading": "No reading was made at the setting since the last vent.",
    "overshoot": "The approach went above the setting's limit.",
    "pressure_fell": "The stimulus fell during the approach.",
    "not_reached": "The reading was made below the setting.",
    "no_zero": "No zero was recorded with the actuator vented, before exercise.",
    "no_return": "No return to zero was recorded after exercise.",
}
UNCLEAR = "'{text}' can be read in two ways. Write it with a point, or without the comma."
NOT_A_NUMBER = "'{text}' is not a number. Enter digits such as 31 or 0.0595."


def sheet_words() -> dict[str, Any]:
    """Every text, step and unit that the screens of a tablet need; the same for everybody."""
    return {
        "steps": [asdict(step) for step in EVERY.values()],
        "moments": MOMENTS,
        "shares": {"slow": SLOW_FROM, "exercise": EXERCISE_SHARE, "zero_far": ZERO_FAR_FROM},
        "cautions": {kind: [*FIRST, *ALWAYS, *lines] for kind, lines in BY_STIMULUS.items()},
        "caution": {"pneumatic": IN_ONE_LINE, "electric": IN_ONE_LINE | WHERE_ELECTRIC},
        "before_turning": BEFORE_TURNING,
        "reasons": [list(choice) for choice in Check.Reason.choices],
        "geometries": [list(choice) for choice in Check.Geometry.choices],
        "states": STATE_WORDS,
        "half_turns_most": HALF_TURNS_MOST,
        "watch": WATCH,
        "back": BACK,
        "away": AWAY,
        "zero": ZERO,
        "leads": LEADS,
        "effect": EFFECT,
        "not_back": NOT_BACK,
        "short": SHORT,
        "short_then": SHORT_THEN,
        "not_vented": NOT_VENTED,
        "zero_far": ZERO_FAR,
        "no_verdict": NO_VERDICT,
        "unsafe": UNSAFE,
        "void_then": VOID_THEN,
        "unsafe_then": UNSAFE_THEN,
        "next": {f"{state} {moment}": sentence for (state, moment), sentence in NEXT.items()},
        "provisional": PROVISIONAL,
        "phases": PHASES,
        "voids": VOIDS,
        "unclear": UNCLEAR,
        "not_a_number": NOT_A_NUMBER,
        "units": units_on_sheet(),
        "decimals": LENGTH_DECIMALS | STIMULUS_DECIMALS,
    }
