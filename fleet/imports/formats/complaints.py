"""One complaint about a truck on each line, open or closed."""

from dataclasses import replace

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import UNIT_NUMBER
from fleet.imports.known import Known
from fleet.imports.named import named_truck
from fleet.imports.steps import Wish
from fleet.models import Complaint, User
from fleet.problems import FleetError
from fleet.services.dates import day_that_was

KINDS = {word.casefold(): kind.value for kind in Complaint.Kind for word in (kind.label, kind.value)}
COLUMNS = (
    replace(UNIT_NUMBER, required=True),
    Column("kind", ("complaint", "what_is_wrong"), required=True, holds=", ".join(Complaint.Kind.labels)),
    Column("raised_on", ("raised", "date"), required=True, holds="day"),
    Column("raised_by", ("driver", "who"), required=True, holds="who says so"),
    Column("text", ("words", "description"), holds="in their words"),
    Column("finding", ("found",), holds="what was found; needed with a closing day"),
    Column("closed_on", ("closed",), holds="day; blank while open"),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the complaint, or the closing of one on record; the same complaint again changes nothing."""
    truck = named_truck(cells, known, needed_for="a complaint")
    row = Complaint(
        truck=truck, kind=_kind(cells), raised_on=cells.needed_day("raised_on", "a complaint"),
        raised_by=cells.text("raised_by", needed_for="a complaint"), text=cells.text("text"),
        finding=cells.text("finding"), closed_on=cells.day("closed_on"), recorded_by=user,
    )  # fmt: skip
    _judge(row)
    said = (row.kind, row.raised_on, row.raised_by, row.text)
    stored = next(
        (one for one in known.said[truck.unit_number] if (one.kind, one.raised_on, one.raised_by, one.text) == said),
        None,
    )
    if stored is None:
        wish.new(row, f"{row.get_kind_display()} of truck {truck}, raised {row.raised_on}")
    elif stored.closed_on is None and row.closed_on:
        wish.change(stored, {"finding": row.finding, "closed_on": row.closed_on})
    elif (row.closed_on or stored.closed_on, row.finding or stored.finding) != (stored.closed_on, stored.finding):
        raise FleetError("complaint_closed", "closed_on", "This complaint is closed already, with another finding.")


def _kind(cells: Cells) -> str:
    cells.text("kind", needed_for="a complaint")
    return cells.word("kind", KINDS)


def _judge(row: Complaint) -> None:
    day_that_was(row.raised_on, "raised_on")
    day_that_was(row.closed_on, "closed_on")
    if row.closed_on and not row.finding:
        raise FleetError("complaint_closed_with_finding", "finding", "Say what was found, or leave the day blank.")
    if row.closed_on and row.closed_on < row.raised_on:
        raise FleetError("complaint_closed_after_raised", "closed_on", "It cannot be closed before it was raised.")
    if row.finding and not row.closed_on:
        raise FleetError("finding_without_day", "closed_on", "A finding closes the complaint: give the day as well.")


FORMAT = Format("complaints", "Complaints, one on each line", COLUMNS, plan)
