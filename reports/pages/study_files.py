"""A study as CSV files; lengths in millimetres."""

from collections.abc import Iterator
from typing import Any

from checks.measurement.study import Study
from checks.selectors.study import Told
from fleet.imports.report import harmless
from fleet.web.files import csv_lines

READINGS = ("place", "part", "turbocharger", "technician", "trial", "travel_mm", "typed", "unit", "entered_at")
VARIANCE = ("source", "degrees_of_freedom", "sum_of_squares_mm2", "mean_square_mm2", "f", "p")
COMPONENTS = ("component", "standard_deviation_mm", "degrees_of_freedom", "percent_of_total", "percent_of_window")


def file_of(told: Told, kind: str) -> Iterator[str] | None:
    """The file ``readings``, ``variance`` or ``components``; None where there is none, or no analysis yet."""
    if kind == "readings":
        return csv_lines(READINGS, _readings(told))
    if told.analysis is None or kind not in ("variance", "components"):
        return None
    rows = _variance(told.analysis) if kind == "variance" else _components(told.analysis)
    return csv_lines(VARIANCE if kind == "variance" else COMPONENTS, rows)


def _readings(told: Told) -> list[list[Any]]:
    return [
        [
            row.place,
            harmless(row.part.name),
            harmless(row.part.turbocharger.serial) if row.part.turbocharger else "",
            harmless(row.technician.display_name),
            row.trial,
            _plain(row.travel_mm),
            row.typed,
            row.unit,
            row.entered_at.isoformat(timespec="seconds") if row.entered_at else "",
        ]
        for row in told.table.readings
    ]


def _variance(study: Study) -> list[list[Any]]:
    return [
        [
            line.source,
            line.dof,
            _plain(line.sum_of_squares),
            _plain(line.mean_square),
            _plain(line.f),
            _plain(line.p),
        ]
        for line in study.table
    ]


def _components(study: Study) -> list[list[Any]]:
    dofs = {"repeatability": study.repeatability_dof, "reproducibility": study.reproducibility_dof}
    shares = study.share_of_window or {}
    return [
        [name, _plain(getattr(study, name)), _plain(dofs.get(name)), _plain(share), _plain(shares.get(name))]
        for name, share in study.share_of_total.items()
    ]


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"
