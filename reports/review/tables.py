"""The tables of a review, in the order of its pages. A new one is a function in a file of its own and a line here."""

from collections.abc import Callable, Iterator
from datetime import datetime

from checks.convert import CODE_VERSION
from reports.export.frozen import Run, Table
from reports.review import (
    complaints,
    drift,
    found,
    fuel,
    instruments,
    life,
    notes,
    quality,
    recalls,
    rechecks,
    states,
    studies,
    units,
)
from reports.review.records import Records
from reports.review.summary import summary

TABLES: tuple[Callable[[Records], Table], ...] = (
    states.state_table,
    states.flow_table,
    found.found_table,
    drift.drift_table,
    units.outside_table,
    units.leaving_table,
    units.adjuster_table,
    rechecks.recheck_table,
    rechecks.overdue_table,
    found.void_table,
    fuel.effect_table,
    fuel.cost_table,
    fuel.loss_table,
    fuel.restored_table,
    fuel.together_table,
    complaints.tally_table,
    complaints.odds_table,
    complaints.complaint_table,
    complaints.silent_table,
    life.life_table,
    life.life_comparison_table,
    instruments.due_table,
    instruments.found_out_table,
    recalls.recall_table,
    studies.study_table,
    studies.depot_table,
    quality.quality_table,
    notes.notes_table,
)


def tables_of(records: Records) -> Iterator[Table]:
    """One after the other, so that whoever asks can tell how far it is."""
    for make in TABLES:
        yield make(records)


def run_of(records: Records, tables: list[Table], *, number: int, made_at: datetime) -> Run:
    """Everything that is frozen."""
    scope = records.depot.name if records.depot else "the fleet"
    return Run(
        number=number,
        title=f"Reliability review of {scope}, {records.month.words}",
        month=f"{records.month.first:%Y-%m}",
        scope=scope,
        made_at=made_at.isoformat(timespec="seconds"),
        code_version=CODE_VERSION,
        sentences=summary({table.name: table for table in tables}, records.month, scope),
        cautions=notes.CAUTIONS,
        tables=tuple(tables),
    )
