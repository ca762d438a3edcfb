"""Measurement studies: what readings of a depot scatter by, and which depot reads differently."""

from collections.abc import Sequence
from datetime import date, datetime

from checks.measurement.errors import MeasurementError
from checks.measurement.study import Study as Analysis
from checks.measurement.study import analyse
from checks.models import Publication, Study
from checks.selectors.days import day_at
from checks.selectors.study import StudyRow, studies
from checks.selectors.study_depots import rounds_among, tables_of, values_of
from fleet.models import Depot
from reports.export.frozen import Chart, Column, Table, Value, table
from reports.review.records import Records


def study_table(records: Records) -> Table:
    """Studies planned for the twelve months, and older ones that count at the end of the month; six queries."""
    on = records.month.last
    rows = [row for row in _rows(records, mine=True) if _belongs(row, records)]
    found = _analyses([row.study for row in rows if _whole(row, on)])
    return table(
        "measurement_studies",
        "Measurement studies",
        "What readings of the same part scatter by, at each depot that has studied it.",
        (
            Column("depot", "depot", "Depot whose technicians read."),
            Column("study", "study", "Its name."),
            Column("model", "parts of", "Turbocharger model of the parts."),
            Column("planned_for", "day", "Day for which it was planned.", "day"),
            Column("state", "state", "How far it was at the end of the month."),
            Column("parts", "parts", "Parts read.", "number"),
            Column("technicians", "technicians", "People who read.", "number"),
            Column("trials", "trials", "Readings of each part by each.", "number"),
            Column("repeatability", "repeatability", "Standard deviation of repeats.", "number", "mm", 4),
            Column("reproducibility", "reproducibility", "Standard deviation between technicians.", "number", "mm", 4),
            Column("window_share", "of window", "Six standard deviations of both, of the window.", "number", "%", 0),
            Column("categories", "classes", "Parts that it can tell apart, in classes.", "number"),
            Column("counts_from", "counts from", "Day from which checks rest on it.", "day"),
            Column("ended_on", "until", "Day on which that ended, if by the end of the month.", "day"),
        ),
        [_line(row, found.get(row.study.pk), on) for row in rows],
        note="Analysis of variance; a published study takes the place of the assumed repeatability in the uncertainty "
        "of the checks made while it counts. Interaction counts as reproducibility.",
    )


def depot_table(records: Records) -> Table:
    """Depots that have read the same units, held against each other; six queries."""
    rows: list[tuple[Value, ...]] = []
    whole = [row.study for row in _rows(records, mine=False) if _whole(row, records.month.last)]
    for found in rounds_among(whole):
        studied = {str(study.depot): study for study in found.studies}
        for mean in found.comparison.depots if found.comparison else ():
            study = studied[mean.name]
            if records.depot is None or study.depot_id == records.depot.pk:
                said = "stands out" if mean.odd else "differs" if mean.differs else "agrees"
                rows.append(
                    (found.model, mean.name, study.name, study.planned_for, len(found.parts), mean.technicians,
                     mean.mean_mm, mean.difference_mm, mean.low_mm, mean.high_mm,
                     100 * abs(mean.difference_mm) / found.window_mm, said)
                )  # fmt: skip
    return table(
        "depots_compared",
        "Depots compared",
        "What depots read of the same units, against the other depots that agree.",
        (
            Column("model", "model", "Turbocharger model of the units."),
            Column("depot", "depot", "Depot whose technicians read."),
            Column("study", "study", "Its newest study that was read to its end."),
            Column("planned_for", "day", "Day for which that was planned.", "day"),
            Column("units", "units", "Units that all depots compared have read.", "number"),
            Column("technicians", "technicians", "People who read at the depot.", "number"),
            Column("mean", "mean", "Mean travel over units, technicians and trials.", "number", "mm", 3),
            Column("difference", "difference", "Less the mean of the other depots that agree.", "number", "mm", 3),
            Column("difference_low_limit", "95 % from", "Its lower limit, for all together.", "number", "mm", 3),
            Column("difference_high_limit", "95 % to", "Its upper limit, for all together.", "number", "mm", 3),
            Column("window_share", "of window", "The difference, of the window.", "number", "%", 0),
            Column("said", "result", "Stands out, differs (which of two is off cannot be told), or agrees."),
        ),
        rows,
        note="Limits from how far technicians of one depot differ. That the units did not change on their way is taken "
        "for granted; what certificates leave open is not in the limits.",
        chart=_chart(rows),
    )


def _chart(rows: Sequence[Sequence[Value]]) -> Chart | None:
    """The model that most depots have read."""
    models = [str(row[0]) for row in rows]
    if not models:
        return None
    drawn = max(sorted(set(models)), key=models.count)
    values = ("difference", "difference_low_limit", "difference_high_limit")
    title = f"Difference from the other depots, {drawn}, with 95 % limits"
    return Chart("range", "depot", values, title, "mm", where=(("model", drawn),))


def _rows(records: Records, *, mine: bool) -> list[StudyRow]:
    depots = [records.depot] if records.depot and mine else list(Depot.objects.all())
    found = studies(depots, until=records.month.last)
    return found if mine else sorted(found, key=lambda row: (row.study.planned_for, row.study.pk), reverse=True)


def _belongs(row: StudyRow, records: Records) -> bool:
    counting = _counting(row.study, records.month.last)
    return row.study.planned_for >= records.month.year_began or (counting is not None and counting[1] is None)


def _whole(row: StudyRow, on: date) -> bool:
    """Whether its last reading was entered by the evening of ``on``."""
    last = row.last_entered_at
    return bool(row.readings and row.complete and last and _day(row.study, last) <= on)


def _day(study: Study, moment: datetime) -> date:
    return day_at(study.depot, moment)


def _counting(study: Study, on: date) -> tuple[Publication, date | None] | None:
    """The last publication by the evening of ``on``, and the day on which it ended if by then."""
    begun = [row for row in study.publications.all() if _day(study, row.counts_from) <= on]
    if not begun:
        return None
    row = max(begun, key=lambda one: (one.counts_from, one.pk))
    ended = _day(study, row.ended_at) if row.ended_at else None
    return row, ended if ended and ended <= on else None


def _analyses(rows: Sequence[Study]) -> dict[int, Analysis]:
    tables, found = tables_of(rows), {}
    for study in rows:
        limits = study.specification
        try:
            values = values_of(tables[study.pk], tables[study.pk])
            found[study.pk] = analyse(values, window=limits.upper_mm - limits.lower_mm)
        except MeasurementError:
            continue
    return found


def _line(row: StudyRow, told: Analysis | None, on: date) -> tuple[Value, ...]:
    study, counting = row.study, _counting(row.study, on)
    figures = told.figures() if told else None
    shares = told.share_of_window if told else None
    return (
        study.depot.name, study.name, str(study.specification.turbocharger_model), study.planned_for,
        _state(row, on), row.parts, row.technicians, study.trials,
        figures.repeatability_mm if figures else None, figures.reproducibility_mm if figures else None,
        shares["measurement"] if shares else None, told.categories if told else None,
        _day(study, counting[0].counts_from) if counting else None, counting[1] if counting else None,
    )  # fmt: skip


def _state(row: StudyRow, on: date) -> str:
    counting = _counting(row.study, on)
    if counting is not None:
        return "published" if counting[1] is None else "no longer published"
    if _whole(row, on):
        return "read, not published"
    return "being read" if row.entered else "planned"
