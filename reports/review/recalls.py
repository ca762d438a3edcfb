"""Recalls of instruments: checks judged again, verdicts that change, units that wait."""

from django.utils import timezone

from checks.selectors.recall import recalls
from fleet.models import Depot
from reports.export.frozen import Column, Table, table
from reports.review.records import Records


def recall_table(records: Records) -> Table:
    """Recalls that were open in the twelve months."""
    depots = [records.depot] if records.depot else list(Depot.objects.all())
    rows = []
    for row in recalls(depots, since=records.month.year_began, until=records.month.last):
        recall = row.recall
        closed = timezone.localtime(recall.closed_at).date() if recall.closed_at else None
        shut = closed is not None and closed <= records.month.last
        rows.append(
            (recall.instrument.label, recall.instrument.depot.name, recall.found.number,
             timezone.localtime(recall.opened_at).date(), closed if shut else None, "closed" if shut else "open",
             row.first_on, row.checks, row.flips, row.waiting, recall.conclusion if shut else "")
        )  # fmt: skip
    return table(
        "recalls",
        "Recalls of instruments",
        "Recalls that were open at any time of the twelve months that end with this one.",
        (
            Column("label", "instrument", "The label on it."),
            Column("depot", "depot", "Depot that keeps it."),
            Column("certificate", "certificate", "Number of the certificate that found it out."),
            Column("opened_on", "opened", "Day on which the recall was opened.", "day"),
            Column("closed_on", "closed", "Day on which it was closed, if by the end of the month.", "day"),
            Column("state", "state", "Open or closed at the end of the month."),
            Column("first_check_on", "first check", "Day of the first check judged with it.", "day"),
            Column("checks", "checks", "Checks judged again with the error found.", "number"),
            Column("flips", "verdicts change", "Strokes whose verdict changes.", "number"),
            Column("waiting", "units wait", "Units to be seen again when the review was run.", "number"),
            Column("conclusion", "decided", "What was decided when it was closed."),
        ),
        rows,
        note="Each stroke is judged with the whole error and with the error grown in time; nothing is overwritten.",
    )
