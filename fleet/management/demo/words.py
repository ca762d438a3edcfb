"""What drivers say, and what was found."""

import numpy as np

DRIVERS = ("D. Quenby", "R. Tolland-Fisk", "M. Arkle-Moor", "S. Penhowe", "K. Dunmarrow", "J. Ebbsworth")
LOW = (
    ("over_temperature", "Runs hot on the long climb, had to ease off."),
    ("fuel_economy", "Tank did not last the week, same runs as ever."),
    ("noise", "Whistles under load, louder than last month."),
    ("fuel_economy", "Had to fill up a day early again."),
)
HIGH = (
    ("low_power", "Will not pull away loaded, slow on the hill."),
    ("fuel_economy", "Uses more than the truck beside it on the same run."),
    ("smoke", "Dark smoke when pulling hard."),
    ("fuel_economy", "Drinks more than it used to, nothing else changed."),
)
OTHER = (
    ("fuel_economy", "Uses more since the cold began."),
    ("low_power", "Felt flat on Monday, better since."),
    ("noise", "Rattle at idle."),
    ("smoke", "Puff of smoke on a cold start."),
)
THIRSTY = (
    ("fuel_economy", "Uses more every week, the runs are the same."),
    ("fuel_economy", "The card shows more litres than last season."),
    ("low_power", "Holds back as if something drags."),
)
ADJUSTED = "Travel was out of its window and was set back; truck to be watched for a month."
UNCERTAIN = "Travel stands close to its limit; checked again before anything is turned."
INSIDE = "Travel is inside its window; the cause lies elsewhere. Sent on to the workshop list."


def complaint_words(random: np.random.Generator, side: int, *, thirsty: bool = False) -> tuple[str, str, str]:
    """Kind, driver and words of a complaint: ``side`` is -1, 0 or 1 as travel is low, inside or high.

    ``thirsty``: the truck burns more for another reason.
    """
    said = LOW if side < 0 else HIGH if side > 0 else THIRSTY if thirsty else OTHER
    kind, text = said[int(random.integers(len(said)))]
    return kind, DRIVERS[int(random.integers(len(DRIVERS)))], text


NOTES = {
    "jump": (-117, "Bracket found bent after the gate at the lime works; straightened, not measured."),
    "sticking": (-202, "Rod feels rough in the last third when exercised by hand."),
    "leaking": (-95, "Hiss at the canister with the supply closed. New canister asked for."),
    "moved_unit": (-249, "Came from another truck of ours with its setting as it was."),
}
BATCH_NOTE = "Came in one crate with six others from the reconditioner."
NO_TIME = "No bay free to turn the rod; to be set this week."
POLICY_REASON = "Two years of checks showed that a year is too long here."
ROUND_NAME = "Round of the bench units"
ROUND_NOTES = {
    "SALT": "Ten bench units in the blue case. Next stop: Brae End.",
    "BRAE": "From Saltmarsh, all ten with their lead seals whole. Next stop: Quarry Fork.",
    "QUARRY": "From Brae End, seals whole. The case stays here until the next round.",
}
ROUND_PUBLISHED = "First round: from now on our own figures instead of the assumed ones."
# What each of the cast is for, as the sign-in tells it.
DOES = {
    "warden": "administers the installation: people, depots, work in the background that failed",
    "marram": "manages the fleet and keeps its instruments",
    "tolly": "technician, watches the pressure after each stroke",
    "brisca": "technician, turns the rod sooner than others",
    "corwin": "technician, likes the gauge better than the transducer",
    "jessamy": "technician, quick: fewer points on the way up",
    "ansel": "technician, likes the gauge better than the transducer",
    "petra": "technician, thorough: two rises and a look at the leak-down",
    "lune": "reliability engineer, reads everything and changes nothing",
}
