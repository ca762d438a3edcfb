"""The cautions, in full once before the work and in one line where they matter. Common practice, no source."""

FIRST = (
    "The manufacturer's current service information and the rules of the site come before anything written here.",
    "This work belongs to qualified people. If you are not one, stop and fetch one.",
)
ALWAYS = (
    "Wear eye protection.",
    "Engine off and cool. The turbine housing burns long after the engine stops.",
    "Lock out and tag where the site requires it; support a raised cab by its own lock.",
    "Hands, sleeves and tools clear of the lever and the rod: they move without warning.",
    "Settings that bear on emissions stay within the manufacturer's specification.",
)
BY_STIMULUS = {
    "pneumatic": (
        "Back the regulator off fully before you open the air supply.",
        "Never let the canister see more than its maximum, {maximum}, not even for a moment.",
        "Vent the line before you disconnect anything.",
    ),
    "electric": (
        "Never command more than the maximum, {maximum}, not even for a moment.",
        "Disconnect the actuator from its own controller as its maker says before you command it.",
        "Take the command back to zero before you disconnect anything.",
    ),
}
BEFORE_TURNING = (
    "Vent to zero and close the supply first.",
    "Take the rod end off the lever pin before you turn the rod: the pin breaks under side load.",
    "Count half turns from where it stands. Keep enough thread engaged, as the manufacturer says.",
    "Put the rod end back on the pin and secure it before the next rise.",
)
IN_ONE_LINE = {
    "zero": "Regulator backed off, supply closed. Eye protection on.",
    "exercise": "Hands clear of the lever. Never above {maximum}.",
    "zero-return": "Regulator backed off fully before you touch the linkage.",
    "rise": "Hands clear of the lever. Never above {maximum}.",
    "fall": "Hands clear of the lever until the line is vented.",
    "adjust": "Vented, supply closed, rod end off the pin before the rod is turned.",
}
WHERE_ELECTRIC = {
    "zero": "Command at zero. Eye protection on.",
    "zero-return": "Command at zero before you touch the linkage.",
    "fall": "Hands clear of the lever until the command is at zero.",
    "adjust": "Command at zero and unplugged, rod end off the pin before the rod is turned.",
}


def all_cautions(stimulus: str, maximum: str) -> tuple[str, ...]:
    """Every caution for an actuator of this kind, in the order of reading."""
    return tuple(line.format(maximum=maximum) for line in (*FIRST, *ALWAYS, *BY_STIMULUS[stimulus]))


def one_line(kind: str, stimulus: str, maximum: str) -> str:
    """The caution that matters at one step, or nothing."""
    lines = IN_ONE_LINE | (WHERE_ELECTRIC if stimulus == "electric" else {})
    return lines.get(kind, "").format(maximum=maximum)
