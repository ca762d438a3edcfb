"""What a verdict rests on beside its own stroke: the fleet's policy, the model's other checks, the depots' studies."""

from dataclasses import dataclass, field
from statistics import fmean, stdev

from django.db.models import FloatField
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from checks.convert import to_policy
from checks.measurement.adjustment import RecordedAdjustment
from checks.measurement.specification import Policy
from checks.measurement.stroke import PooledSlope
from checks.models import Amendment, Assessment, SpecificationRevision
from checks.selectors.policy import current_policy
from checks.selectors.published import Publications, publications

# The newest so many teach about a model; a longer memory would blur a change of make.
MEMORY = 200
# Fewer curves than this say nothing of how much curves differ.
SLOPES_FEWEST = 3


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the model's other checks, the fleet's policy and the depots' studies bring to a verdict."""

    policy: Policy
    slope: PooledSlope | None
    adjustments: tuple[RecordedAdjustment, ...]
    studies: Publications = field(default_factory=Publications)


def grounds_for(specification: SpecificationRevision) -> Grounds:
    """What a verdict by ``specification`` rests on beside its stroke; five queries."""
    return Grounds(
        policy=to_policy(current_policy()),
        slope=pooled_slope(specification),
        adjustments=recorded_adjustments(specification.turbocharger_model_id),
        studies=publications(specification.turbocharger_model.stimulus),
    )


def pooled_slope(specification: SpecificationRevision) -> PooledSlope | None:
    """Slope at the setting over the model's newest accepted curves, mm per kPa or %.

    Only curves that were measured count, not slopes that were themselves pooled or assumed.
    """
    slopes = _newest_slopes(specification)
    if len(slopes) < SLOPES_FEWEST:
        return None
    return PooledSlope(slope=fmean(slopes), spread=stdev(slopes), count=len(slopes))


def _newest_slopes(specification: SpecificationRevision) -> list[float]:
    """The newest `MEMORY` slopes of measured curves, latest first.

    Most curves are measured, so one query of as many rows is mostly enough; each further one reads four times as many.
    Asked for in the database, all results of the model ever made would be unpacked to see which are.
    """
    rows = (
        Assessment.objects.filter(
            is_current=True,
            specification__turbocharger_model=specification.turbocharger_model_id,
            specification__setting=specification.setting,
        )
        .exclude(state=Assessment.State.VOID)
        .order_by("-pk")
        .values_list("pk", KT("result__slope_source"), Cast(KT("result__features__slope__value"), FloatField()))
    )
    slopes: list[float] = []
    found = 0
    size = MEMORY
    while page := list(rows[:size]):
        measured = [slope for _, source, slope in page if source == "curve"][: MEMORY - found]
        slopes += [slope for slope in measured if slope is not None]
        found += len(measured)
        if found == MEMORY or len(page) < size:
            break
        rows, size = rows.filter(pk__lt=page[-1][0]), 4 * size
    return slopes


def recorded_adjustments(model_id: int) -> tuple[RecordedAdjustment, ...]:
    """The model's newest adjustments with a verdict before and after; two queries."""
    rows = (
        Assessment.objects.filter(
            is_current=True,
            stroke__check_made__turbocharger__model=model_id,
            stroke__check_made__half_turns__isnull=False,
        )
        .exclude(state=Assessment.State.VOID)
        .order_by("-stroke__check_made")
        .values_list(
            "stroke__check_made",
            "stroke__moment",
            "stroke__check_made__half_turns",
            "travel_mm",
            "standard_uncertainty_mm",
        )[: 2 * MEMORY]
    )
    turns: dict[int, int] = {}
    pairs: dict[int, dict[str, tuple[float, float]]] = {}
    for check_id, moment, half_turns, travel, u in rows:
        turns[check_id] = half_turns or 0
        if travel is not None and u:
            pairs.setdefault(check_id, {})[moment] = (travel, u)
    corrected = Amendment.objects.filter(check_made__in=list(pairs), field="half_turns").order_by("made_at", "pk")
    for check_id, value in corrected.values_list("check_made", "new_value"):
        turns[check_id] = int(value or 0)
    return tuple(
        RecordedAdjustment(
            half_turns=turns[check_id],
            as_found_mm=pair["as_found"][0],
            as_found_u_mm=pair["as_found"][1],
            as_left_mm=pair["as_left"][0],
            as_left_u_mm=pair["as_left"][1],
        )
        for check_id, pair in pairs.items()
        if len(pair) == 2 and turns[check_id]
    )
