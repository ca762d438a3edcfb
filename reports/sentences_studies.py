"""What a study says, in sentences and rows."""

import math
from dataclasses import dataclass

from checks.display import length, length_text
from checks.measurement.study import POOL_ABOVE, Study
from checks.pages.numbers import quantity_text
from checks.selectors.study import StudyRow, Told
from fleet.models import User

# Shares of the window that are good, and that may still serve. AIAG, Measurement Systems Analysis (from memory).
GOOD, SERVES = 10.0, 30.0
CATEGORIES_WANTED = 5
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


def study_sentence(row: StudyRow, told: Told) -> str:
    """What the study found, or what it still lacks."""
    study = told.analysis
    if row.state == "set_aside":
        return f"Set aside: {row.study.set_aside_reason}"
    if study is None:
        if not row.entered:
            return f"Planned: {row.readings} readings in a random order, none of them entered yet."
        return (
            f"{row.entered} of {row.readings} readings are entered."
            if told.code == "study_incomplete"
            else told.refusal
        )
    shares = study.share_of_window or {}
    share = shares["measurement"]
    word = "little" if share < GOOD else "a share that may serve" if share <= SERVES else "too much to judge well by"
    people = _people(shares)
    others = f"technicians over {_percent(people)}" if people else "technicians cannot be told from repeats"
    return (
        f"Readings of one part scatter over {_percent(share)} of the window at {row.study.depot}, which is {word}: "
        f"repeats over {_percent(shares['repeatability'])}, {others}."
    )


def more_sentences(told: Told, user: User) -> list[str]:
    """Who reads differently, and how well parts are told apart."""
    study = told.analysis
    if study is None:
        return []
    names = [person.display_name for person in told.table.technicians]
    out = [_odd_ones(study, names, user)]
    count = study.categories
    enough = "enough" if count >= CATEGORIES_WANTED else f"fewer than the {CATEGORIES_WANTED} that are wanted"
    out.append(f"The readings tell {count} {'class' if count == 1 else 'classes'} of parts apart, {enough}.")
    over = int((study.ranges > study.range_limit).sum())
    if over:
        out.append(
            f"{over} range{' lies' if over == 1 else 's lie'} above the limit: look at those repeats before publishing."
        )
    return out


def _odd_ones(study: Study, names: list[str], user: User) -> str:
    away, limit = study.technician_means - study.technician_means.mean(), study.technician_limit
    found = [
        f"{name} reads {_tell(abs(float(by)), limit, user)} {'higher' if by > 0 else 'lower'} than all on average"
        for name, by in zip(names, away, strict=True)
        if abs(by) > limit
    ]
    if not found:
        return f"No technician reads surely higher or lower than all on average (within {_length(limit, user)})."
    return f"{'; '.join(found)}."


def _tell(value: float, half: float, user: User) -> str:
    unit = str(user.length_unit)
    return f"{length_text(value, unit, with_unit=False)} ± {length_text(half, unit)}"


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
                mean=_length(mean, user),
                away=f"{sign}{_tell(abs(away), study.technician_limit, user)}",
                range=_length(float(ranges.mean()), user),
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
            p="" if line.p is None else _chance(line.p),
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
            variance_share=_percent(study.share_of_total[key] ** 2 / 100),
            total_share=_percent(study.share_of_total[key]),
            window_share=_percent(shares[key]),
        )
        for key, (name, note) in COMPONENTS.items()
    ]


def pooled_sentence(study: Study) -> str:
    """What became of the interaction, and why."""
    p = next(line.p for line in study.table if line.source == "interaction") or 0.0
    level = f"{POOL_ABOVE:g}"
    if study.pooled:
        return f"Technicians by parts: p {_chance(p)} is above {level}, so it was pooled with the repeats."
    return f"Technicians by parts: p {_chance(p)} is at most {level}, so it stands as a source of its own."


def _people(shares: dict[str, float]) -> float:
    return float((shares["reproducibility"] ** 2 + shares["interaction"] ** 2) ** 0.5)


def _length(value_mm: float, user: User) -> str:
    return length_text(value_mm, str(user.length_unit))


def _percent(share: float) -> str:
    return "under 0.1 %" if 0 < share < 0.1 else f"{share:.1f} %" if share < 10 else f"{share:.0f} %"


def _digits(value: float) -> str:
    """Five significant digits without exponent."""
    if value <= 0:
        return "0"
    return f"{value:.{max(0, 4 - math.floor(math.log10(value)))}f}"


def _ratio(f: float) -> str:
    """A ratio of variances."""
    return "beyond measure" if math.isinf(f) else f"{f:,.0f}" if f >= 1000 else f"{f:.2f}"


def _chance(p: float) -> str:
    return "below 0.001" if p < 0.001 else f"{p:.3f}"
