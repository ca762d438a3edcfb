"""How the turbochargers of each model drift, model by model."""

from dataclasses import dataclass

from django.db.models import Count, Q

from checks.models import DriftFit
from fleet.models import TurbochargerModel, User
from fleet.selectors.scope import depots_of
from reports.selectors.batch_rows import BatchRow, batch_row, batches_kept
from reports.words.drift import PER, drift_text


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelRow:
    """One model in the list; units and leaving are counted at the viewer's depots, the drift is the whole fleet's."""

    pk: int
    name: str
    fit: DriftFit | None
    drift: str
    units: int
    leaving: int
    jumped: int
    apart: list[BatchRow]

    @property
    def drifts(self) -> bool:
        """Whether the model's mean drift stands out of its uncertainty."""
        return self.fit is not None and abs(self.fit.estimates["beta"][2]) > 2 * drift_u(self.fit)


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelsPage:
    """Everything that the list shows."""

    rows: list[ModelRow]
    per: str


def drift_u(fit: DriftFit) -> float:
    """Standard uncertainty of the model's mean drift, mm per scaled usage."""
    return float(max(fit.estimates["cov"][2][2], 0.0) ** 0.5)


def models_page(*, user: User) -> ModelsPage:
    """Every model with its drift. Four queries."""
    depots = list(depots_of(user).values_list("pk", flat=True).distinct())
    here = Q(turbochargers__depot__in=depots, turbochargers__scrapped_on__isnull=True)
    models = TurbochargerModel.objects.order_by("name").annotate(
        here=Count("turbochargers", filter=here),
        leaves=Count("turbochargers", filter=here & Q(turbochargers__standing__leaving=True)),
        jumps=Count("turbochargers", filter=here & Q(turbochargers__forecast__jumped=True)),
    )
    fits = {fit.turbocharger_model_id: fit for fit in DriftFit.objects.filter(is_current=True)}
    rows = [_model_row(model, fits.get(model.pk), user.length_unit) for model in models]
    bases = {fit.basis for fit in fits.values()}
    return ModelsPage(rows=rows, per=PER[bases.pop()] if len(bases) == 1 else PER["km"])


def _model_row(model: TurbochargerModel, fit: DriftFit | None, unit: str) -> ModelRow:
    return ModelRow(
        pk=model.pk,
        name=model.name,
        fit=fit,
        drift=drift_text(fit.estimates["beta"][2], drift_u(fit), unit) if fit else "",
        units=model.here,  # type: ignore[attr-defined]
        leaving=model.leaves,  # type: ignore[attr-defined]
        jumped=model.jumps,  # type: ignore[attr-defined]
        apart=[batch_row(batch, unit) for batch in batches_kept(fit) if batch.departs] if fit else [],
    )
