"""Numbers of planning."""

from checks.vocabulary.methods.method import Method, MethodGroup
from checks.vocabulary.methods.places import DUE, INTERVALS, REVIEWS, WEEKS

METHODS = MethodGroup(
    "planning",
    "When to see a unit again",
    (
        Method(
            key="see-again",
            name="due date",
            title="Due date and its rules",
            in_short="Each rule of the policy asks for a day or for a use that becomes a day; the earliest binds, "
            "and all that ask are kept.",
            behind="The page of the unit lists every rule that asks, its checks, and the truck with its meter "
            "readings.",
            begin=DUE,
            sources=(
                "Theil 1950 and Sen 1968, for the rate of use",
                "The rules are ours; their numbers are the policy's",
            ),
            modules=("checks.rules.recheck.decide", "checks.rules.recheck.rate"),
        ),
        Method(
            key="levelling",
            name="days of the bay",
            title="Days of the bay",
            in_short="Checks that are due get days within the bay's capacity, so that units run outside their window "
            "on as few expected days as can be.",
            behind="Each card of the week opens its unit, with the rules that ask and the checks.",
            begin=WEEKS,
            sources=("Transportation problem, solved as a linear programme; any textbook",),
            modules=("checks.rules.levelling",),
        ),
        Method(
            key="intervals",
            name="intervals between checks",
            title="Are the intervals right?",
            in_short="The share found outside at scheduled checks against the policy's target, and the interval that "
            "would reach it.",
            behind="The board lists the units of a model; each has its checks with their reasons.",
            begin=INTERVALS,
            sources=(
                "ILAC-G24:2022 / OIML D 10:2022, 6.6, for the logic; the numbers are ours",
                "Clopper and Pearson 1934, for the interval of the share",
            ),
            modules=("checks.rules.intervals",),
            limits=True,
        ),
        Method(
            key="policy-effect",
            name="effect of a policy",
            title="What a change of policy would do",
            in_short="Checks and unit-months outside in the coming quarter, from stored plans and forecasts, as they "
            "are and as they would be.",
            behind="See again lists what is due now and why; each unit has its forecast.",
            begin=DUE,
            sources=("Ours, no source",),
            modules=("checks.rules.policy_effect",),
        ),
        Method(
            key="shares",
            name="shares",
            title="Shares and their limits",
            in_short="Limits of shares are Clopper and Pearson's exact 95 % limits (1934), which hold for small "
            "numbers too.",
            behind="The tables of the review are CSV files with one row for each check and unit.",
            begin=REVIEWS,
            sources=("Clopper and Pearson 1934, Biometrika 26, 404-413",),
            modules=("checks.rules.intervals",),
        ),
    ),
)
