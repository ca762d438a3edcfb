"""What a study says, in sentences."""

from checks.measurement.study import POOL_ABOVE, Study
from checks.selectors.study import StudyRow, Told
from fleet.models import User
from reports.words.study import difference_text, own_length, p_value_text, percent_text

# Shares of the window that are good, and that may still serve. AIAG, Measurement Systems Analysis (from memory).
GOOD, SERVES = 10.0, 30.0
CATEGORIES_WANTED = 5


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
    others = f"technicians over {percent_text(people)}" if people else "technicians cannot be told from repeats"
    return (
        f"Readings of one part scatter over {percent_text(share)} of the window at {row.study.depot}, which is {word}: "
        f"repeats over {percent_text(shares['repeatability'])}, {others}."
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
        f"{name} reads {difference_text(abs(float(by)), limit, user)} "
        f"{'higher' if by > 0 else 'lower'} than all on average"
        for name, by in zip(names, away, strict=True)
        if abs(by) > limit
    ]
    if not found:
        return f"No technician reads surely higher or lower than all on average (within {own_length(limit, user)})."
    return f"{'; '.join(found)}."


def pooled_sentence(study: Study) -> str:
    """What became of the interaction, and why."""
    p = next(line.p for line in study.table if line.source == "interaction") or 0.0
    level = f"{POOL_ABOVE:g}"
    if study.pooled:
        return f"Technicians by parts: p {p_value_text(p)} is above {level}, so it was pooled with the repeats."
    return f"Technicians by parts: p {p_value_text(p)} is at most {level}, so it stands as a source of its own."


def _people(shares: dict[str, float]) -> float:
    return float((shares["reproducibility"] ** 2 + shares["interaction"] ** 2) ** 0.5)
