"""What drift and life of one model are derived from: its fitments, its checks as amended, the use of its engines."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Q

from checks.models import Amendment, Assessment, Check, Policy
from checks.models.forecast import Basis
from checks.selectors.amended import typed_value
from checks.selectors.usage import COLUMNS, Engines, engines_of, fallback_of, moment
from fleet.models import Fitment, TurbochargerModel

AMENDABLE = {Basis.KM: "odometer", Basis.HOURS: "engine_hours"}


@dataclass(slots=True)
class Seen:
    """A check as amended: its moment, meter, and verdicts by moment of its strokes."""

    check: int
    turbocharger: int
    fitment: int | None
    made_at: datetime
    at: float
    meter: float | None
    half_turns: int | None
    strokes: dict[str, tuple[str, float | None, float | None]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Past:
    """Fitments and checks of a model's units, by unit and in their order; ``checks`` are all of them."""

    fitted: dict[int, list[Fitment]]
    checks: list[Seen]
    checks_of: dict[int, list[Seen]]
    engines: Engines


def past_of(model: TurbochargerModel, basis: Basis, policy: Policy) -> Past:
    """Read what is on record of a model; a constant number of queries."""
    fitments = Fitment.objects.filter(turbocharger__model=model).order_by("fitted_on", "pk")
    fitted: dict[int, list[Fitment]] = defaultdict(list)
    engine_of = {}
    for row in fitments:
        fitted[row.turbocharger_id].append(row)
        engine_of[row.pk] = row.engine_id
    seen = seen_checks(model, basis, fitted)
    read = [
        (engine_of[one.fitment], one.at, one.meter) for one in seen if one.fitment is not None and one.meter is not None
    ]
    checks_of: dict[int, list[Seen]] = defaultdict(list)
    for one in seen:
        checks_of[one.turbocharger].append(one)
    fallback = fallback_of(basis, policy.fallback_km_per_day)
    return Past(fitted, seen, checks_of, engines_of(fitments, read, basis=basis, fallback=fallback))


def seen_checks(model: TurbochargerModel, basis: Basis, fitted: Mapping[int, Sequence[Fitment]]) -> list[Seen]:
    """Every check of a model with its verdicts, as amended, in the order made."""
    column = COLUMNS[basis]
    checks = Check.objects.filter(turbocharger__model=model).order_by("made_at", "pk")
    columns = ("pk", "turbocharger", "fitment", "made_at", column, "half_turns")
    seen = {}
    for pk, unit, fitment, made_at, meter, turns in checks.values_list(*columns).iterator(chunk_size=5000):
        fitment = fitment or _fitment_on(fitted.get(unit, ()), made_at.date())
        seen[pk] = Seen(pk, unit, fitment, made_at, moment(made_at), meter, turns)
    amended = Amendment.objects.filter(
        check_made__turbocharger__model=model, field__in=[AMENDABLE[basis], "half_turns"]
    ).order_by("made_at", "pk")
    for pk, name, value in amended.values_list("check_made", "field", "new_value"):
        if name == "half_turns":
            seen[pk].half_turns = int(value) if value else None
        else:
            seen[pk].meter = typed_value(value)[0] if value else None
    verdicts = Assessment.objects.filter(Q(stroke__check_made__turbocharger__model=model), is_current=True).values_list(
        "stroke__check_made", "stroke__moment", "state", "travel_mm", "standard_uncertainty_mm"
    )
    for pk, stroke, state, travel, u in verdicts.order_by().iterator(chunk_size=5000):
        seen[pk].strokes[stroke] = (state, travel, u)
    return list(seen.values())


def _fitment_on(rows: Iterable[Fitment], day: date) -> int | None:
    for row in rows:
        if row.fitted_on <= day and (row.removed_on is None or day <= row.removed_on):
            return row.pk
    return None
