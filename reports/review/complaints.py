"""Complaints: which of them the records of travel explain, and what all fuel complaints say together."""

from collections import Counter
from itertools import chain

from fleet.models import Complaint
from reports.export.frozen import Chart, Column, Table, table
from reports.review.records import READER, Records
from reports.selectors.complaint_study import USUAL_LAG, StudyPage, study_page

EXPLAINED = {"outside_low": "explained", "outside_high": "explained", "inside": "not explained", "": "travel not known"}
NOT_STUDIED = "not studied"


def complaints_of(records: Records) -> list[tuple[Complaint, str, str]]:
    """Complaints raised in the twelve months or open at the month's end: the row, what travel says, the state then."""
    page = study_page(user=READER)
    heard = {row.pk: row.state for row in page.heard}
    began, end = records.month.year_began, records.month.last
    rows = [
        row
        for row in chain.from_iterable(records.complaints.values())
        if row.raised_on >= began or row.closed_on is None or row.closed_on > end
    ]
    rows.sort(key=lambda row: (row.raised_on, row.pk), reverse=True)
    return [(row, EXPLAINED[heard[row.pk]] if row.pk in heard else NOT_STUDIED, heard.get(row.pk, "")) for row in rows]


def complaint_table(records: Records) -> Table:
    """Each complaint with what travel says of it."""
    end = records.month.last
    rows = [
        (
            row.truck.unit_number, row.truck.depot.name, row.get_kind_display(), row.raised_on,
            row.closed_on if row.closed_on and row.closed_on <= end else None,
            "open" if row.closed_on is None or row.closed_on > end else "closed", said, state.replace("_", " "),
        )
        for row, said, state in complaints_of(records)
    ]  # fmt: skip
    return table(
        "complaints",
        "Complaints",
        "Complaints raised in the twelve months that end with this one, or still open at its end, latest first.",
        (
            Column("truck", "truck", "Unit number of the truck."),
            Column("depot", "depot", "Depot of the truck."),
            Column("kind", "kind", "What was complained about."),
            Column("raised_on", "raised", "Day on which it was raised.", "day"),
            Column("closed_on", "closed", "Day on which it was closed, if by the end of the month.", "day"),
            Column("state", "state", "Open or closed at the end of the month."),
            Column("explained", "by travel", "Explained where travel stood outside before it; fuel complaints only."),
            Column("travel", "travel stood", f"Travel of the truck in the {USUAL_LAG} months before."),
        ),
        rows,
        note=(
            "Explained says that travel stood outside in the months before, not that it was the cause. Only fuel "
            "complaints are set against travel."
        ),
    )


def tally_table(records: Records) -> Table:
    """Counts by kind."""
    said = complaints_of(records)
    counts = Counter((str(row.get_kind_display()), word) for row, word, _ in said)
    first = records.month.first
    recent = Counter(str(row.get_kind_display()) for row, _, _ in said if row.raised_on >= first)
    kinds = sorted({kind for kind, _ in counts})
    words = ("explained", "not explained", "travel not known", NOT_STUDIED)
    return table(
        "complaint_counts",
        "Complaints explained and not",
        "The complaints listed below, by kind and by what travel says of them.",
        (
            Column("kind", "kind", "What was complained about."),
            Column("this_month", "this month", "Raised in the month.", "number"),
            *(Column(word.replace(" ", "_"), word, f"Complaints '{word}'.", "number") for word in words),
        ),
        [(kind, recent[kind], *(counts[kind, word] for word in words)) for kind in kinds],
        chart=Chart(
            "bars",
            "kind",
            ("explained", "not_explained", "travel_not_known", "not_studied"),
            "Complaints by what travel says",
            "complaints",
        ),
    )


def silent_table(records: Records) -> Table:
    """Trucks about which nobody complains although they burn more and stand outside."""
    here = {records.depot.name} if records.depot else set(records.depots.values())
    rows = [
        (row.truck, row.serial, row.depot, row.state.replace("_", " "), f"{row.since:%Y-%m}", f"{row.last:%Y-%m}")
        for row in study_page(user=READER).silent
        if row.depot in here
    ]
    return table(
        "silent_trucks",
        "Outside, thirsty, and no complaint",
        "Trucks that burn more than they did and whose travel stood outside up to their last month of trips, about "
        "which no fuel complaint is on record, the longest first.",
        (
            Column("truck", "truck", "Unit number of the truck."),
            Column("serial", "serial number", "Serial number of the turbocharger."),
            Column("depot", "depot", "Depot of the truck."),
            Column("stood", "stands", "Side of the window on which it stands."),
            Column("since", "since", "First month of that."),
            Column("last", "until", "Its last month of trips."),
        ),
        rows,
        note="As found when the review was run.",
    )


def odds_table(records: Records) -> Table:
    """Odds ratios of the whole fleet's study."""
    page: StudyPage = study_page(user=READER)
    names = {"overall": "outside on either side", "low": "outside low", "high": "outside high"}
    rows = [
        (names[side], ratio.estimate, ratio.low, ratio.high, ratio.method)
        for side, ratio in page.ratios.items()
        if ratio.told
    ]
    return table(
        "complaint_odds",
        "Do complaints go with travel?",
        f"Odds of a fuel complaint where travel stood outside in the {USUAL_LAG} months before, against inside, "
        "stratified by model and depot, for the whole fleet.",
        (
            Column("side", "travel", "Side of the window."),
            Column("odds_ratio", "odds ratio", "1 is no difference.", "number", "", 2),
            Column("odds_low_limit", "95 % from", "Its lower 95 % limit.", "number", "", 2),
            Column(
                "odds_high_limit", "95 % to", "Its upper 95 % limit; empty where there is no bound.", "number", "", 2
            ),
            Column("method", "method", "How the ratio and its limits were found."),
        ),
        rows,
    )
