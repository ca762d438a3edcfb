"""How the numbers were made, and what they cannot say."""

from checks.selectors.policy import current_policy
from checks.vocabulary.methods import METHODS
from reports.export.frozen import Column, Table, table
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
        ("verdicts", f"{METHODS['verdict'].in_short} Inside asks for a probability of at least "
         f"{100 * policy.inside_level:g} %, outside for the same beyond the window. Uncertainty by the budget shown on "
         "each check (JCGM 100); its repeatability is that of the depot's published study, or assumed."),
        ("shares", METHODS["shares"].in_short),
        ("due dates", DUE_RULE),
        ("drift and forecasts", f"{METHODS['drift'].in_short} As fitted when the review was run, over the whole "
         "fleet."),
        ("fuel", f"{METHODS['fuel-effect'].in_short} {METHODS['fuel-cost'].in_short}"),
        ("life", METHODS["life"].in_short),
        ("complaints", METHODS["complaint-odds"].in_short),
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
