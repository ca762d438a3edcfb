"""The questions of the demonstration: who asks, where to begin, what to press, and what answers them from records."""

from collections.abc import Callable
from dataclasses import dataclass

from reports.selectors import planted, planted_fleet
from reports.selectors.planted import Answer, Planted

TECHNICIAN, MANAGER = "a technician", "a manager"
ENGINEER, KEEPER = "a reliability engineer", "an instrument keeper"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: words, what to press as it is written there, words."""

    before: str
    press: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question. ``begin``: words and the name of the address; ``unit``: the fact whose unit is sought there;
    ``answer`` reads what was planted and what is found.
    """

    key: str
    title: str
    who: str
    begin: tuple[str, str]
    steps: tuple[Step, ...]
    answer: Callable[[Planted], Answer]
    unit: str = ""


BOARD, DRIFT = ("Fleet board", "reports:board"), ("Drift by model", "reports:models")
QUESTIONS = (
    Question(
        key="waiting",
        title="Which wastegates stand outside their window and wait for somebody, and which has nobody looked at?",
        who=MANAGER,
        begin=BOARD,
        steps=(
            Step("Above the list, press", "outside high", "."),
            Step("Then", "outside low", ": those below the window."),
            Step("Then", "never checked", "; one of those may already count as leaving, as its model forecasts."),
        ),
        answer=planted.waiting,
    ),
    Question(
        key="jump",
        title="A truck's bracket was bent at a gate and straightened, not measured. What did that do to its wastegate?",
        who=TECHNICIAN,
        begin=BOARD,
        steps=(
            Step("Behind “Jumped since the reading before”, press the first serial number."),
            Step("Read the note beside “Complaints and notes”: it tells the day."),
            Step("Compare the readings before and after it; the one that nobody could foresee is marked jumped."),
        ),
        answer=planted.jump,
    ),
    Question(
        key="leak",
        title="Somebody heard a hiss at this unit's canister. How fast does it leak down?",
        who=TECHNICIAN,
        begin=BOARD,
        unit="leaking_canister",
        steps=(
            Step("Press the unit in the list, and read its note."),
            Step("Among its checks, press the newest by Tolly Vennick, who closes the supply and watches."),
            Step("Beside the curve, read leak-down. Sound canisters lose next to nothing in a minute."),
        ),
        answer=planted.leak,
    ),
    Question(
        key="drift",
        title="Which turbocharger models drift, which way, and how fast?",
        who=ENGINEER,
        begin=DRIFT,
        steps=(
            Step("Read the sentence; flagged models drift more than the uncertainty could pretend."),
            Step("Press a model's name to see each of its units and what its drift rests on."),
        ),
        answer=planted.drift,
    ),
    Question(
        key="batch",
        title="Did reconditioned units come with a wrong setting?",
        who=ENGINEER,
        begin=DRIFT,
        steps=(
            Step("In the last column, press a batch that is set apart."),
            Step("Under “Were they set alike?”, read how far from the others, and which units they are."),
        ),
        answer=planted.batch,
    ),
    Question(
        key="gauge",
        title="Which gauge lied, by how much, and which verdicts fall with it?",
        who=KEEPER,
        begin=("Instruments", "checks:instruments"),
        steps=(
            Step("Press", "Recalls", ", then the instrument that is named there."),
            Step("Read which units to see again, and each verdict as recorded beside what it would have been."),
        ),
        answer=planted_fleet.gauge,
    ),
    Question(
        key="depot",
        title="Does one depot measure differently from the others?",
        who=ENGINEER,
        begin=("Instruments", "checks:instruments"),
        steps=(
            Step("Press", "Measurement studies", "."),
            Step("Under “Depots compared”, see who stands out, by how much, and what to look at first."),
        ),
        answer=planted_fleet.depot,
    ),
    Question(
        key="cost",
        title="What does a wastegate outside its window cost in fuel?",
        who=MANAGER,
        begin=("Fuel", "reports:fuel"),
        steps=(
            Step("Read the sentence: the effect of travel, and the litres and money that it came to."),
            Step("Press", "Restored units", " to see what their restoration gave back."),
        ),
        answer=planted_fleet.cost,
    ),
    Question(
        key="thirsty",
        title="Which trucks are thirsty, and is it the wastegate?",
        who=MANAGER,
        begin=("Fuel", "reports:fuel"),
        steps=(
            Step("Press", "Thirsty trucks", ": set right those that stand outside first."),
            Step("Press a truck that is thirsty and inside: its wastegate is not the cause, so look elsewhere."),
        ),
        answer=planted_fleet.thirsty,
    ),
    Question(
        key="silent",
        title="Which trucks burn more with their wastegate outside, and nobody has complained yet?",
        who=MANAGER,
        begin=("Complaints", "reports:complaints"),
        steps=(
            Step("Press", "Do fuel complaints go with travel outside the window?", ""),
            Step("Read “Thirsty and outside, and nobody complained”."),
        ),
        answer=planted_fleet.silent,
    ),
)
