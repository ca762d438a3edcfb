"""The sentences that open the pages of drift."""

from reports.selectors.batch_rows import BatchRow
from reports.selectors.intervals import IntervalPage
from reports.selectors.model_drift import ModelPage
from reports.selectors.models_drift import ModelsPage, drift_u
from reports.words.drift import going
from reports.words.grammar import capital, count_of, listing


def models_sentence(page: ModelsPage) -> str:
    """Which models drift, and which batches were set apart, such as ``Tarrowby rises; ...``"""
    fitted = [row for row in page.rows if row.fit]
    if not fitted:
        return "No model has a reading to tell its drift by yet."
    up = [row.name for row in fitted if row.fit and row.drifts and row.fit.estimates["beta"][2] > 0]
    down = [row.name for row in fitted if row.fit and row.drifts and row.fit.estimates["beta"][2] < 0]
    parts = []
    if up:
        parts.append(f"Travel of {listing(up)} rises with use.")
    if down:
        parts.append(f"Travel of {listing(down)} falls with use.")
    if not parts:
        parts.append("No model drifts by more than its uncertainty.")
    parts += [f"{row.name}: {_batch(batch)}" for row in fitted for batch in row.apart]
    return " ".join(parts)


def model_sentence(page: ModelPage) -> str:
    """What its units do on average, and which batches depart."""
    if page.fit is None:
        return "No reading of this model can be placed yet, so nothing is known of its drift."
    drift = going(page.fit.estimates["beta"][2], drift_u(page.fit))
    said = f"{drift}: {page.drift} per {page.per} on average, from {page.fit.readings:,} readings."
    return " ".join([said, *map(_batch, page.apart)])


def intervals_sentence(page: IntervalPage) -> str:
    """Which models are seen too seldom, too often, or just often enough for the target."""
    words = {
        "shorten": "See {} sooner: more are found outside at scheduled checks than the target of {} allows.",
        "lengthen": "Intervals of {} can grow: fewer are found outside than the target of {}.",
        "keep": "What is found of {} agrees with the target of {}.",
        "wait": "Of {} too few scheduled checks are known to say.",
    }
    parts = []
    for advice, sentence in words.items():
        names = [row.name for row in page.rows if row.review.advice == advice]
        if names:
            parts.append(capital(sentence.format(listing(names), page.target)))
    return " ".join(parts) or "No model is registered yet."


def _batch(row: BatchRow) -> str:
    batch = row.batch
    way = "high" if batch.departure_mm > 0 else "low"
    verb = "was" if batch.units == 1 else "were"
    units = capital(count_of(batch.units, "unit"))
    return f"{units} ({row.name}) {verb} set {way}: {row.departure} from the model's others."
