"""The rod is turned: what is advised, the cautions, and the half turns done."""

from collections.abc import Mapping
from typing import Any

from checks.services.faults import Faults
from checks.services.quantity import read_number
from checks.services.submission import HALF_TURNS_MOST
from checks.tablet.cautions import BEFORE_TURNING
from checks.tablet.desk import Desk
from checks.tablet.entry import Field, Sheet
from checks.tablet.preview import preview
from checks.tablet.sequence import AS_FOUND, AS_LEFT, AS_LEFT_STEPS, Step
from checks.tablet.strokes import readings_of
from checks.tablet.taken import Taken
from checks.tablet.told import nominal_text, tell
from checks.tablet.words import EFFECT, LEADS

WAYS = (("longer", "longer"), ("shorter", "shorter"))


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """The advice and the boxes for what was done."""
    verdict = tell(desk, {AS_FOUND: preview(desk, AS_FOUND)})
    done = desk.answers.get("half_turns")
    way = "" if not done else "longer" if done > 0 else "shorter"
    return {
        "verdict": verdict,
        "before_turning": BEFORE_TURNING,
        "aim": LEADS["adjust"].format(nominal=nominal_text(desk)),
        "effect": EFFECT["more" if desk.specification.adjustment_sign > 0 else "less"],
        "ways": WAYS,
        "way": sheet.text("way", way),
        "wrong_way": sheet.wrong_with("way"),
        "turns": Field(
            name="half_turns",
            label="Half turns done, counted from where the rod stood as found",
            text=sheet.text("half_turns", abs(done) if done else ""),
            units=("half turns",),
            unit="half turns",
            wrong=sheet.wrong_with("half_turns"),
        ),
        "has_as_left": bool(readings_of(desk.answers, AS_LEFT)),
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the half turns; with another number the as-left stroke is made anew."""
    if post.get("action") == "not-turned":
        return Taken(_anew(desk) | {"half_turns": None, "as_left": None, "decision": None}, to="verdict")
    faults = Faults()
    number = read_number(post.get("half_turns"), "half_turns", "The number of half turns", faults)
    if number is not None and not (number == int(number) and 1 <= number <= HALF_TURNS_MOST):
        faults.add(
            "half_turns_implausible",
            "half_turns",
            f"Half turns are a whole number from 1 to {HALF_TURNS_MOST}; which way is said below.",
        )
    if post.get("way") not in dict(WAYS):
        faults.add("not_a_choice", "way", "Say whether the rod was made longer or shorter.")
    faults.settle()
    done = int(number or 0) * (1 if post["way"] == "longer" else -1)
    if done == desk.answers.get("half_turns"):
        return Taken()
    return Taken({"half_turns": done} | (_anew(desk) if readings_of(desk.answers, AS_LEFT) else {}))


def _anew(desk: Desk) -> dict[str, Any]:
    left = {step.slug for step in AS_LEFT_STEPS}
    return {"as_left": None, "passed": [slug for slug in desk.answers.get("passed", []) if slug not in left]}
