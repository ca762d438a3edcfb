"""What the screens of a check say, written once: for the pages that the server draws and for the sheet of a tablet.

Braces stand for values in the person's own units.
"""

from dataclasses import asdict
from typing import Any

from checks.components.state_word import STATE_WORDS
from checks.display import LENGTH_DECIMALS, STIMULUS_DECIMALS
from checks.measurement.evidence import EXERCISE_SHARE
from checks.measurement.units import QUANTITIES, convert
from checks.models import Check
from checks.services.submission import HALF_TURNS_MOST
from checks.tablet.cautions import ALWAYS, BEFORE_TURNING, BY_STIMULUS, FIRST, IN_ONE_LINE, WHERE_ELECTRIC
from checks.tablet.sequence import EVERY, MOMENTS

SLOW_FROM = 0.9  # share of the setting from which the rise must go slowly; common practice, no source
WATCH = {
    "raise": "Raise slowly, in one motion, and stop at the setting: {setting}.",
    "stop": (
        "Stop. {seen} was entered and the maximum is {maximum}. {away}. If that was a slip of typing, correct "
        "the reading. If the actuator did see it, stop here: the check is void and the unit must be inspected."
    ),
    "unreadable": "That reading lies outside what the instruments can read. Correct it; or: {back}.",
    "passed": "Passed the setting by {over}: friction now holds the rod out. {back} and rise again.",
    "fell": "It fell back by {fell} during the rise. {back} and rise again in one motion.",
    "reached": "The reading at the setting is made.",
    "there": "You are at the setting. Enter what both instruments show as the reading at the setting.",
    "slow": "Go slowly now: {below} below the setting. If you pass it, back off to zero and rise again.",
    "on": "{below} below the setting. Keep rising, without backing off.",
}
BACK = {"pneumatic": "Vent to zero", "electric": "Take the command back to zero"}
AWAY = {"pneumatic": "Vent now", "electric": "Take the command to zero"}
ZERO = {
    "pneumatic": (
        "Back the regulator off and open the line to atmosphere. A self-sealing coupling traps pressure: open it "
        "first.",
        "Zero {instrument} while it is vented, if it can be zeroed, and set the dial to zero with a little preload on "
        "its plunger.",
        "Enter what both show now, even where it is not zero.",
    ),
    "electric": (
        "Command the actuator to zero and let it come to rest.",
        "Set the dial to zero, with a little preload on its plunger.",
        "Enter what both show now.",
    ),
}
LEADS = {
    "reason": "Why is this unit checked, and what does the truck's meter read?",
    "instruments": "Choose what you measure with.",
    "exercise": "Take the actuator through its whole stroke and back to zero, {times}. Feel for sticking.",
    "exercise-to": "Go to about the setting, {setting}. Never above {maximum}.",
    "zero-return-pneumatic": "Vent to atmosphere and look whether both instruments come back to zero.",
    "zero-return-electric": "Command zero and look whether both instruments come back to zero.",
    "fall-pneumatic": (
        "Optional. Readings on the way back show friction; a hold with the supply closed shows a leak, since a sound "
        "canister loses next to nothing in a minute. Both may be left out."
    ),
    "fall-electric": "Optional. Readings on the way back show friction.",
    "adjust": "Aim at the nominal, {nominal}, not merely inside the limits.",
    "not-turned": "Takes the half turns out and goes back to the verdict.",
    "signed": "Signed as {person}. A signed check is never overwritten; it can be amended with a reason.",
}
EFFECT = {
    "more": "A longer rod gives more travel, a shorter one less.",
    "less": "A longer rod gives less travel, a shorter one more.",
}
NOT_BACK = {
    "travel": "The dial came back to {came}; within {asked} is asked.",
    "stimulus": "The vented stimulus came back to {came}; within {asked} of zero is asked.",
    "then": (
        "With this the stroke is void. Look for trapped pressure, a loose dial or a sticking rod, then zero again and "
        "make the whole stroke again."
    ),
}
SHORT = "The actuator was exercised {done} of {wanted} times; a cycle counts from {least}."
SHORT_THEN = "Make the missing cycles and correct the values, or go on: the stroke is then void."
NOT_VENTED = (
    "{typed} is too far from zero for a reading made vented. Enter what the instrument shows with the line open."
)
# A vented indication off by more than this share of the setting is asked about: common practice, no source.
ZERO_FAR_FROM = 0.1
ZERO_FAR = (
    "{typed} was entered, and vented, {label} should show about {vented}. Look whether the line is open, and enter "
    "what is shown. If it does show this, press Next once more."
)
NO_VERDICT = "Void: the procedure was not kept, so this reading proves nothing."
UNSAFE = "Do not put the unit back into service before it was inspected."
STILL_OUTSIDE = "It is still outside: turn the rod again and repeat the stroke, or sign it as it stands."
LEAKS_THEN = (
    "Leave the rod alone: the travel is right. Find the leak, put it right as the manufacturer's service information "
    "says, and make the whole stroke again; or sign with a note on the leak."
)
VOID_THEN = "Do what is named above and repeat; or sign it as void, and it will be asked for again."
UNSAFE_THEN = "Sign it as void: the unit stays flagged until someone has inspected it."
NEXT = {
    ("inside", "as_found"): "Leave it alone and sign.",
    ("inside", "as_left"): "Sign. The new setting is inside the window.",
    ("undecided", "as_found"): "Repeat the rise, or take better instruments, before anything is turned.",
    ("undecided", "as_left"): "Repeat the rise, or take better instruments, before the rod is turned again.",
    ("outside_low", "as_left"): STILL_OUTSIDE,
    ("outside_high", "as_left"): STILL_OUTSIDE,
}
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
PHASES = {
    "rise": "rising",
    "setting": "at the setting",
    "vent": "vented",
    "fall": "falling",
    "hold": "hold",
    "zero": "zero",
    "exercise": "exercise",
    "zero_return": "return to zero",
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
ON_A_METER = ("voltage", "current")
SHOWN_UNITS = ("pressure", "length", "command", "distance", "operating time")


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
        "units": _units(),
        "decimals": LENGTH_DECIMALS | STIMULUS_DECIMALS,
    }


def _units() -> dict[str, dict[str, Any]]:
    """Unit to the unit in which its quantity is kept and the factor that leads there.

    What a multimeter shows is kept as it shows it.
    """
    shown: dict[str, dict[str, Any]] = {
        unit: {"kept": unit, "factor": 1.0} for name in ON_A_METER for unit in QUANTITIES[name]
    }
    return shown | {
        unit: {"kept": units[0], "factor": convert(1.0, unit, units[0])}
        for name in SHOWN_UNITS
        for units in [QUANTITIES[name]]
        for unit in units
    }
