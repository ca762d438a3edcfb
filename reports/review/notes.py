"""How the numbers were made, and what they cannot say."""

from checks.selectors.policy import current_policy
from reports.export.frozen import Column, Table, table
from reports.review.found import EXACT
from reports.review.rechecks import RULE as DUE_RULE
from reports.review.records import Records
from reports.review.states import RULE as STATE_RULE

CAUTIONS = (
    "The manufacturer's current service information and local rules come first. Work on turbochargers is for qualified "
    "people.",
    "This review describes the records of the fleet; it clears no unit for service and sets no limit.",
)


def notes_table(records: Records) -> Table:
    """One note a subject."""
    policy = current_policy()
    notes = (
        ("run", "Everything was read once when the review was run and frozen; every file is made from what was frozen. "
         "What is recorded, amended or judged again later is in a later run."),
        ("month", "A check belongs to the calendar day at the depot that made it; a unit to the depot where it stood "
         "when the review was run."),
        ("states", STATE_RULE),
        ("verdicts", f"Inside asks for a probability of at least {100 * policy.inside_level:g} % of lying within the "
         "window, outside for the same beyond it; between the two a verdict is undecided. Uncertainty by the budget "
         "shown on each check (JCGM 100); its repeatability is that of the depot's published study, or assumed."),
        ("shares", EXACT),
        ("due dates", DUE_RULE),
        ("drift and forecasts", "As fitted when the review was run, over the whole fleet. The limits of a model's "
         "drift are those of its mean, not of one unit."),
        ("fuel", "From trips, truck by truck over time, with load, climb, speed, idling and weather taken out; 95 % "
         "limits leave out one truck at a time. Kilograms of CO2 by 40 CFR 98, Table C-1."),
        ("life", "Use from a setting to its first verdict outside, known to lie between two checks: Weibull by maximum "
         "likelihood, 95 % limits from the profile of the likelihood below 50 seen outside. Fewer than 5 tell no B10."),
        ("complaints", "Set against travel in the months before, stratified by model and depot. An odds ratio is no "
         "proof of cause."),
        ("rounding", "Each number is rounded once, to the decimals of its column, when the run is frozen; the PDF, the "
         "workbook and the CSV files all show that number."),
    )  # fmt: skip
    return table(
        "notes",
        "Method notes and limits",
        "How the numbers were made, and what they cannot say.",
        (Column("subject", "subject", "What the note is about."), Column("note", "note", "The note.")),
        notes,
    )
