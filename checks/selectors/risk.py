"""What the policy's level costs: units passed that are outside, and units held back that are inside."""

import math
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Avg, Count, StdDev

from checks.measurement.conformity import Risks, acceptance_limits, risks
from checks.models import Assessment, SpecificationRevision, Stroke
from checks.selectors.policy import current_policy
from checks.selectors.specification import revisions_in_force
from fleet.models import TurbochargerModel, User
from fleet.selectors import scope

# Fewer checks say little about how a model's units are spread.
FEWEST = 10


@dataclass(frozen=True, slots=True)
class ModelRisk:
    """Risks of one model by its revision in force; ``risks`` is None where nothing can be said, and why."""

    specification: SpecificationRevision
    checks: int
    risks: Risks | None
    reason: str = ""


def model_risks(user: User, *, on: date) -> list[ModelRisk]:
    """Consumer's and producer's risk of each model, given how its units were found at the depots of `user`.

    The spread of the true travels is what remains of the readings' spread without the measurement's own.
    """
    held = revisions_in_force(TurbochargerModel.objects.all(), on)
    judged = scope.visible_to(user, Assessment.objects.all(), depot="stroke__check_made__depot")
    found = (
        judged.filter(
            is_current=True,
            stroke__moment=Stroke.Moment.AS_FOUND,
            specification__in=[row.pk for row in held.values()],
            travel_mm__isnull=False,
        )
        .exclude(state=Assessment.State.VOID)
        .order_by()
        .values("specification")
        .annotate(
            count=Count("pk"), mean=Avg("travel_mm"), spread=StdDev("travel_mm"), u=Avg("standard_uncertainty_mm")
        )
    )
    by_revision = {row["specification"]: row for row in found}
    level = current_policy().inside_level
    rows = sorted(held.values(), key=lambda row: row.turbocharger_model.name)
    return [_model_risk(row, by_revision.get(row.pk), level) for row in rows]


def _model_risk(row: SpecificationRevision, seen: Any, level: float) -> ModelRisk:
    count = int(seen["count"]) if seen else 0
    if seen is None or count < FEWEST:
        return ModelRisk(row, count, None, f"fewer than {FEWEST} checks judged by this revision")
    limits = acceptance_limits(seen["u"], row.lower_mm, row.upper_mm, level)
    if limits is None:
        return ModelRisk(row, count, None, "its instruments cannot prove the window")
    true_variance = seen["spread"] ** 2 - seen["u"] ** 2
    if true_variance <= 0:
        return ModelRisk(row, count, None, "its units differ by less than the readings are uncertain")
    told = risks(
        population_mean=seen["mean"],
        population_sd=math.sqrt(true_variance),
        u=seen["u"],
        lower=row.lower_mm,
        upper=row.upper_mm,
        accept_low=limits[0],
        accept_high=limits[1],
    )
    return ModelRisk(row, count, told)
