"""The order of the work: which steps there are, which are done, and which one is open."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checks.tablet.strokes import readings_of

AS_FOUND, AS_LEFT = "as_found", "as_left"
MOMENTS = {AS_FOUND: "as found", AS_LEFT: "as left"}


@dataclass(frozen=True, slots=True)
class Step:
    """One screen. ``kind`` names what is done there, ``moment`` the stroke it belongs to, if any."""

    slug: str
    kind: str
    title: str
    moment: str = ""


BEFORE = (
    Step("reason", "reason", "Reason and meter"),
    Step("instruments", "instruments", "Instruments"),
    Step("cautions", "cautions", "Cautions"),
)
STROKE = (
    ("zero", "Zero both instruments"),
    ("exercise", "Exercise the actuator"),
    ("zero-return", "Return to zero"),
    ("rise", "The rise"),
    ("fall", "Fall and hold"),
    ("verdict", "Verdict"),
)
AS_FOUND_STEPS = tuple(Step(kind, kind, title, AS_FOUND) for kind, title in STROKE)
AS_LEFT_STEPS = tuple(Step(f"as-left-{kind}", kind, f"As left: {title.lower()}", AS_LEFT) for kind, title in STROKE)
ADJUST = Step("adjust", "adjust", "Turn the rod")
SIGN = Step("sign", "sign", "Sign")
EVERY = {step.slug: step for step in (*BEFORE, *AS_FOUND_STEPS, ADJUST, *AS_LEFT_STEPS, SIGN)}


def steps_for(answers: Mapping[str, Any], cycles: int) -> tuple[Step, ...]:
    """The steps of this check: an adjustment adds its own, a specification without exercise leaves that out."""
    adjusted = (ADJUST, *AS_LEFT_STEPS) if answers.get("decision") == "adjust" else ()
    steps = (*BEFORE, *AS_FOUND_STEPS, *adjusted, SIGN)
    return tuple(step for step in steps if cycles > 0 or step.kind not in {"exercise", "zero-return"})


def is_done(step: Step, answers: Mapping[str, Any], cycles: int) -> bool:
    """Whether a step's answers are complete, so that the next may be opened."""
    if step.slug in answers.get("passed", []):
        return True
    match step.kind:
        case "reason" | "instruments":
            return step.kind in answers
        case "cautions":
            return bool(answers.get("cautions_read_at"))
        case "zero" | "zero-return":
            return bool(readings_of(answers, step.moment, step.kind.replace("-", "_")))
        case "exercise":
            return len(readings_of(answers, step.moment, "exercise")) >= cycles
        case "rise":
            approach = readings_of(answers, step.moment, "rise", "setting", "vent")
            return bool(approach) and approach[-1]["phase"] == "setting"
        case "verdict":
            return step.moment == AS_FOUND and answers.get("decision") in {"leave", "adjust"}
        case "adjust":
            return bool(answers.get("half_turns"))
        case _:
            return False


def first_open(answers: Mapping[str, Any], cycles: int) -> Step:
    """The earliest step that is not done."""
    steps = steps_for(answers, cycles)
    return next((step for step in steps if not is_done(step, answers, cycles)), steps[-1])


def after(step: Step, answers: Mapping[str, Any], cycles: int) -> Step:
    """The step that follows."""
    steps = steps_for(answers, cycles)
    return steps[min(steps.index(step) + 1, len(steps) - 1)]


def before(step: Step, answers: Mapping[str, Any], cycles: int) -> Step | None:
    """The step that precedes, None for the first."""
    steps = steps_for(answers, cycles)
    place = steps.index(step)
    return steps[place - 1] if place else None


def stopped(answers: Mapping[str, Any], moment: str) -> dict[str, Any]:
    """Answers with the rest of one stroke given up, so that its verdict (void) may be looked at."""
    strokes = AS_FOUND_STEPS if moment == AS_FOUND else AS_LEFT_STEPS
    given_up = [step.slug for step in strokes if step.kind in {"exercise", "zero-return", "rise", "fall"}]
    return {"passed": sorted({*answers.get("passed", []), *given_up})}


def begun_anew(answers: Mapping[str, Any], moment: str) -> dict[str, Any]:
    """Answers with one stroke emptied, to be made again from its zero."""
    strokes = {step.slug for step in (AS_FOUND_STEPS if moment == AS_FOUND else AS_LEFT_STEPS)}
    passed = [slug for slug in answers.get("passed", []) if slug not in strokes]
    decision = answers.get("decision") if moment == AS_LEFT else None
    return {moment: {"readings": []}, "passed": passed, "decision": decision}


def verdict_slug(moment: str) -> str:
    """The verdict on one stroke."""
    return "verdict" if moment == AS_FOUND else "as-left-verdict"
