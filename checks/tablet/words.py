"""What the screens of a check say, written once: for the pages that the server draws and for the sheet of a tablet.

Braces stand for values in the person's own units.
"""

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
SHORT_THEN = "Make the missing cycles and correct the values, or go on: the stroke is then void."
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
