"""From stored strokes to verdicts. A new verdict takes the place of the old one, which stays beside it."""

from collections.abc import Sequence

from django.db import transaction

from checks.convert import certificates_used, result_columns
from checks.measurement.assess import assess_many
from checks.measurement.errors import MeasurementError
from checks.measurement.result import Assessment as Result
from checks.measurement.workings import Case
from checks.models import Assessment, Check, SpecificationRevision
from checks.selectors.amended import INSTRUMENTS
from checks.selectors.assessment import StrokeToJudge, strokes_to_judge
from checks.selectors.days import day_at
from checks.selectors.grounds import Grounds
from fleet.jobs.requests import enqueue
from fleet.models import Job, Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require

REJUDGE = "re-judge"


def judge_checks(
    *, check_ids: Sequence[int], basis: str, by: SpecificationRevision | None = None, grounds: Grounds | None = None
) -> dict[int, list[Assessment]]:
    """Judge checks and make the new verdicts current; returns them by check.

    Parameters
    ----------
    basis : why, such as 'recorded', 'amended', 'revision C'
    by : judge by this revision; otherwise each by the one that judged it last, or that it pins
    grounds : what the verdicts rest on beside their strokes; found once per revision when not given

    Raises
    ------
    FleetError
        With the core's code and sentence, when a value could not be one.
    """
    found = strokes_to_judge(check_ids, by=by, grounds=grounds)
    return _store(found, measure([one.case for one in found]), basis)


def request_rejudging(*, user: User, specification: SpecificationRevision) -> Job:
    """Have every check of a model judged by one of its revisions, as a job; asked twice, it is one job.

    Raises
    ------
    FleetError
        ``not_allowed`` (403) for anybody but a manager.
    """
    require(user, Membership.Role.MANAGER)
    return enqueue(
        kind=REJUDGE,
        arguments={"specification": specification.pk},
        key=f"specification {specification.pk}",
        requested_by=user,
    )


def measure(cases: Sequence[Case]) -> list[Result]:
    """Judge cases, with the core's refusals told as ours."""
    try:
        return assess_many(cases)
    except MeasurementError as error:
        raise FleetError(error.code, error.field, error.sentence) from error


@transaction.atomic
def _store(strokes: Sequence[StrokeToJudge], results: Sequence[Result], basis: str) -> dict[int, list[Assessment]]:
    judged = [one.stroke_id for one in strokes]
    Assessment.objects.filter(stroke__in=judged, is_current=True).update(is_current=False)
    rows = [
        Assessment(
            stroke_id=one.stroke_id,
            specification=one.revision,
            basis=basis[:60],
            certificates=_certificates(one.check),
            publication_id=_publication(one),
            **result_columns(result),
        )
        for one, result in zip(strokes, results, strict=True)
    ]
    Assessment.objects.bulk_create(rows)
    made: dict[int, list[Assessment]] = {}
    for one, row in zip(strokes, rows, strict=True):
        made.setdefault(one.check.pk, []).append(row)
    return made


def _publication(one: StrokeToJudge) -> int | None:
    """The published study that its budget took its repeatability from."""
    found = one.grounds.studies.counting(one.check.depot_id, one.check.made_at)
    return found.pk if found else None


def _certificates(check: Check) -> list[int]:
    tools = [getattr(check, name) for name in INSTRUMENTS.values()]
    return certificates_used(tools, day_at(check.depot, check.made_at))
