"""The strokes waiting to be judged, with everything that judging them needs, and what a new revision changed."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from django.db.models import Prefetch

from checks.convert import to_alignment, to_instruments, to_specification, to_stroke
from checks.measurement.workings import Case
from checks.models import Amendment, Assessment, Check, Instrument, Reading, SpecificationRevision
from checks.selectors.amended import INSTRUMENTS, overlay
from checks.selectors.days import day_at
from checks.selectors.grounds import Grounds, grounds_for


class StrokeToJudge(NamedTuple):
    """A stroke to be judged, by what, and the inputs of its assessment."""

    check: Check
    stroke_id: int
    revision: SpecificationRevision
    grounds: Grounds
    case: Case


def checks_to_judge(check_ids: Iterable[int]) -> list[Check]:
    """Checks with everything that judging them needs, amendments laid over; a constant number of queries."""
    calibrated = Instrument.objects.prefetch_related("certificates__points")
    rows = (
        Check.objects.filter(pk__in=list(check_ids))
        .select_related("specification__turbocharger_model", "turbocharger", "depot")
        .prefetch_related(
            Prefetch("strokes__readings", Reading.objects.order_by("order")),
            Prefetch("amendments", Amendment.objects.order_by("made_at", "pk")),
        )
        .order_by("pk")
    )
    checks = list(rows)
    for check in checks:
        readings = {stroke.moment: list(stroke.readings.all()) for stroke in check.strokes.all()}
        overlay(check, readings, check.amendments.all())
    used = {getattr(check, f"{name}_id") for check in checks for name in INSTRUMENTS.values()}
    tools = calibrated.in_bulk([pk for pk in used if pk])
    for check in checks:
        for name in INSTRUMENTS.values():
            setattr(check, name, tools.get(getattr(check, f"{name}_id")))
    return checks


def cases_of(check: Check, specification: SpecificationRevision, grounds: Grounds) -> dict[int, Case]:
    """The inputs of each stroke's assessment by the stroke's primary key, for a check of ``checks_to_judge``."""
    on = day_at(check.depot, check.made_at)
    instruments = to_instruments(
        dial=check.dial,
        stimulus=check.stimulus_instrument,
        meter=check.meter,
        alignment=to_alignment(geometry=check.geometry, angle_deg=check.angle_deg, angle_max_deg=check.angle_max_deg),
        on=on,
    )
    judged_by = to_specification(specification)
    study = grounds.studies.figures(check.depot_id, check.made_at)
    return {
        stroke.pk: Case(
            stroke=to_stroke(stroke.readings.all(), on),
            specification=judged_by,
            instruments=instruments,
            policy=grounds.policy,
            model_slope=grounds.slope,
            study=study,
            adjustments=grounds.adjustments,
        )
        for stroke in check.strokes.all()
    }


def strokes_to_judge(
    check_ids: Sequence[int], *, by: SpecificationRevision | None = None, grounds: Grounds | None = None
) -> list[StrokeToJudge]:
    """Every stroke of some checks, by the revision ``by`` or each by the one that judged it last, or that it pins.

    ``grounds``: what the verdicts rest on beside their strokes; found once per revision when not given.
    """
    latest = {} if by else revisions_by_check(check_ids)
    known: dict[int, Grounds] = {}
    out: list[StrokeToJudge] = []
    for check in checks_to_judge(check_ids):
        revision = by or latest.get(check.pk) or check.specification
        if revision.pk not in known:
            known[revision.pk] = grounds or grounds_for(revision)
        ground = known[revision.pk]
        cases = cases_of(check, revision, ground)
        out += [StrokeToJudge(check, stroke, revision, ground, case) for stroke, case in cases.items()]
    return out


def revisions_by_check(check_ids: Iterable[int]) -> dict[int, SpecificationRevision]:
    """The revision that judged each check last, where one did; one query."""
    rows = Assessment.objects.filter(stroke__check_made__in=list(check_ids), is_current=True).select_related(
        "specification__turbocharger_model", "stroke"
    )
    return {row.stroke.check_made_id: row.specification for row in rows.defer("result")}


def flips_of(revision: SpecificationRevision) -> list[tuple[int, str, str, str]]:
    """Verdicts by ``revision`` that differ from the one before: (check, moment, old state, new state); one query."""
    rows = (
        Assessment.objects.filter(stroke__check_made__turbocharger__model=revision.turbocharger_model_id)
        .order_by("stroke", "pk")
        .values_list("stroke", "stroke__check_made", "stroke__moment", "state", "is_current", "specification")
    )
    flips: list[tuple[int, str, str, str]] = []
    before: dict[int, str] = {}
    for stroke, check, moment, state, is_current, specification in rows:
        if is_current and specification == revision.pk and before.get(stroke, state) != state:
            flips.append((check, moment, before[stroke], state))
        before[stroke] = state
    return flips
