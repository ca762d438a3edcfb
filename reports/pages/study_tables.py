"""The tables of a study: technicians, variance, parts of the scatter."""

import math
from dataclasses import dataclass

from checks.display import length
from checks.measurement.study import Study
from checks.pages.numbers import quantity_text
from checks.selectors.study import Told
from fleet.models import User
from reports.words.study import difference_text, own_length, p_value_text, percent_text

SOURCES = {
    "technician": "technicians",
    "part": "parts",
    "interaction": "technicians by parts",
    "error": "repeats",
    "total": "all together",
}
COMPONENTS = {
    "repeatability": ("repeatability", "one technician, the same part again"),
    "reproducibility": ("reproducibility", "another technician"),
    "interaction": ("interaction", "technicians differ on some parts only"),
    "measurement": ("measurement", "the three above"),
    "part": ("parts", "how far they differ"),
    "total": ("all together", "measurement and parts"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaRow:
    """A line of the table of variance, in the reader's unit squared."""

    source: str
    dof: int
    squares: str
    mean_square: str
    f: str
    p: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentRow:
    """One part of the scatter: its standard deviation and its shares in per cent."""

    name: str
    note: str
    told: str
    dof: str
    variance_share: str
    total_share: str
    window_share: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TechnicianRow:
    """A technician's mean about the mean of all, with half its interval."""

    name: str
    mean: str
    away: str
    range: str
    over: int
    sure: bool


def technician_rows(told: Told, user: User) -> list[TechnicianRow]:
    """One line a technician."""
    study = told.analysis
    if study is None:
        return []
    middle = float(study.technician_means.mean())
    rows = []
    for place, person in enumerate(told.table.technicians):
        mean, ranges = float(study.technician_means[place]), study.ranges[place]
        away = mean - middle
        sign = "+" if away >= 0 else "−"
        rows.append(
            TechnicianRow(
                name=person.display_name,
                mean=own_length(mean, user),
                away=f"{sign}{difference_text(abs(away), study.technician_limit, user)}",
                range=own_length(float(ranges.mean()), user),
                over=int((ranges > study.range_limit).sum()),
                sure=abs(away) > study.technician_limit,
            )
        )
    return rows


def anova_rows(study: Study, user: User) -> list[AnovaRow]:
    """The table of variance before pooling; F and p of technicians and parts against what they are tested by."""
    square = length(1.0, str(user.length_unit)) ** 2
    return [
        AnovaRow(
            source=SOURCES[line.source],
            dof=line.dof,
            squares=_digits(line.sum_of_squares * square),
            mean_square="" if line.mean_square is None else _digits(line.mean_square * square),
            f="" if line.f is None else _ratio(line.f),
            p="" if line.p is None else p_value_text(line.p),
        )
        for line in study.table
    ]


def component_rows(study: Study, user: User) -> list[ComponentRow]:
    """Every part of the scatter; shares of the window are of six standard deviations."""
    dofs = {"repeatability": study.repeatability_dof, "reproducibility": study.reproducibility_dof}
    shares = study.share_of_window or {}
    return [
        ComponentRow(
            name=name,
            note=note,
            told=quantity_text(getattr(study, key), "mm", user, digits=3),
            dof=f"{dofs[key]:.0f}" if key in dofs else "",
            variance_share=percent_text(study.share_of_total[key] ** 2 / 100),
            total_share=percent_text(study.share_of_total[key]),
            window_share=percent_text(shares[key]),
        )
        for key, (name, note) in COMPONENTS.items()
    ]


def _digits(value: float) -> str:
    """Five significant digits without exponent."""
    if value <= 0:
        return "0"
    return f"{value:.{max(0, 4 - math.floor(math.log10(value)))}f}"


def _ratio(f: float) -> str:
    """A ratio of variances."""
    return "beyond measure" if math.isinf(f) else f"{f:,.0f}" if f >= 1000 else f"{f:.2f}"
