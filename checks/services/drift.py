"""Drift fits and forecasts: derived from the readings, made anew at will with the same numbers."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from django.db import transaction
from django.utils import timezone

from checks.convert import CODE_VERSION, jsonable
from checks.models import DriftFit, Forecast, Policy
from checks.rules.chart import Innovations, ewma, ewma_limit, innovations, rank_within
from checks.rules.pooling import Known, ModelDrift, fit_model, is_large
from checks.rules.restart import restarted
from checks.selectors.batches import batches_of, plant_set
from checks.selectors.drift import ModelHistory, model_history
from checks.selectors.policy import current_policy
from checks.services.outlook import Outlooks, Signs
from checks.services.plan import replan
from fleet.models import TurbochargerModel

CHUNK = 250
EWMA_WEIGHT = 0.3
DERIVED = [f.name for f in Forecast._meta.fields if f.name not in {"id", "turbocharger"}]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A model fitted and looked ahead with, nothing written yet. ``tag`` tells one set of numbers from another."""

    history: ModelHistory
    drift: ModelDrift | None
    outlooks: Outlooks | None
    inputs: str
    tag: str

    @property
    def turbochargers(self) -> list[int]:
        """Units that get a forecast, in the order of their primary keys."""
        return self.outlooks.turbochargers if self.outlooks else []


def prepare(model: TurbochargerModel) -> Prepared:
    """Fit a model's readings and look ahead; reads only. Models without a reading get no fit."""
    history, policy = model_history(model), current_policy()
    if not len(history.epochs.usage):
        return Prepared(history, None, None, history.inputs, history.inputs)
    lent: tuple[Known, ...] = ()
    inputs = history.inputs
    if not is_large(history.epochs):
        lent = _lent(model, history.basis)
        inputs = _digest(inputs, *(one.theta.tobytes() + repr(one.drift).encode() for one in lent))
    inputs = _digest(inputs, CODE_VERSION.encode())
    drift = fit_model(history.epochs, lent)
    outlooks = None
    if history.window:
        seen = innovations(drift.fit)
        ahead = restarted(drift.forecast, history.epochs, seen)
        outlooks = Outlooks.of(history, ahead, policy, _signs(drift, seen))
    return Prepared(history, drift, outlooks, inputs, _tag(inputs, history, policy))


def store_fit(prepared: Prepared) -> DriftFit | None:
    """Make the fit current; one whose inputs did not change keeps its row. Without a fit, what was there goes."""
    current = DriftFit.objects.filter(turbocharger_model=prepared.history.model, is_current=True)
    if prepared.drift is None:
        current.update(is_current=False)
        Forecast.objects.filter(turbocharger__model=prepared.history.model).delete()
        return None
    known = current.filter(inputs=prepared.inputs).first()
    with transaction.atomic():
        # Units scrapped, taken from every engine's record, or moved to another model lose their forecast.
        stale = Forecast.objects.filter(turbocharger__model=prepared.history.model)
        kept = set(prepared.turbochargers)
        gone = [pk for pk in stale.values_list("turbocharger", flat=True) if pk not in kept]
        for start in range(0, len(gone), CHUNK):
            stale.filter(turbocharger__in=gone[start : start + CHUNK]).delete()
        if known:
            return known
        current.update(is_current=False)
        return DriftFit.objects.create(**_columns(prepared, prepared.drift))


def store_forecasts(prepared: Prepared, fit: DriftFit | None, turbochargers: Sequence[int]) -> int:
    """Write the forecasts of some units and plan them anew, in one transaction; returns how many."""
    if prepared.outlooks is None or fit is None:
        return 0
    now = timezone.now()
    rows = [Forecast(fit=fit, derived_at=now, **row) for row in prepared.outlooks.rows(turbochargers)]
    with transaction.atomic():
        Forecast.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["turbocharger"], update_fields=DERIVED, batch_size=CHUNK
        )
        replan(turbochargers)
    return len(rows)


def refit(model_ids: Iterable[int] | None = None) -> int:
    """Refit models (all without a list) here and now, the large ones first since they lend; returns units forecast."""
    models = TurbochargerModel.objects.order_by("pk")
    if model_ids is not None:
        models = models.filter(pk__in=list(model_ids))
    done = 0
    small: list[TurbochargerModel] = []
    for model in models:
        prepared = prepare(model)
        if prepared.drift is not None and prepared.drift.route == DriftFit.Route.POOLED:
            small.append(model)
        else:
            done += _store(prepared)
    return done + sum(_store(prepare(model)) for model in small)


def _store(prepared: Prepared) -> int:
    fit = store_fit(prepared)
    if fit is None:
        return 0
    units = prepared.turbochargers
    return sum(store_forecasts(prepared, fit, units[at : at + CHUNK]) for at in range(0, len(units), CHUNK))


def _lent(model: TurbochargerModel, basis: str) -> tuple[Known, ...]:
    """What the current fits of the fleet's large models lend a small one."""
    rows = DriftFit.objects.filter(is_current=True, route=DriftFit.Route.OWN, basis=basis)
    rows = rows.exclude(turbocharger_model=model).order_by("turbocharger_model")
    return tuple(_known(row.estimates) for row in rows)


def _known(estimates: dict[str, Any]) -> Known:
    drift = (estimates["beta"][2], estimates["cov"][2][2]) if estimates["told"][4] else None
    return Known(np.array(estimates["theta"]), np.array(estimates["told"], dtype=bool), drift)


def _columns(prepared: Prepared, drift: ModelDrift) -> dict[str, Any]:
    fit, diagnostics = drift.fit, drift.fit.diagnostics
    known = Known.of(fit)
    return {
        "turbocharger_model_id": prepared.history.model,
        "basis": prepared.history.basis,
        "route": drift.route,
        "units": diagnostics.units_with_readings,
        "readings": diagnostics.readings,
        "estimates": {
            "theta": fit.theta.tolist(),
            "beta": fit.beta.tolist(),
            "cov": fit.cov.tolist(),
            "told": known.told.tolist(),
            "slope_sd": fit.slope_sd,
            "log_likelihood": fit.log_likelihood,
        },
        "diagnostics": {
            "converged": bool(diagnostics.converged),
            "evaluations": diagnostics.evaluations,
            "decrement": jsonable(diagnostics.decrement),
            "condition": jsonable(diagnostics.condition),
            "units": diagnostics.units,
            "units_with_readings": diagnostics.units_with_readings,
            "units_with_slope": diagnostics.units_with_slope,
            "readings": diagnostics.readings,
            "readings_per_unit": diagnostics.readings_per_unit,
            "batches": batches_in(prepared.history, fit.theta, fit.beta),
            "remarks": [*diagnostics.remarks, *([] if prepared.history.window else [NO_WINDOW])],
        },
        "left_out": list(prepared.history.left_out),
        "inputs": prepared.inputs,
        "code_version": CODE_VERSION,
    }


def batches_in(history: ModelHistory, theta: np.ndarray, beta: np.ndarray) -> list[dict[str, Any]]:
    """How alike the units that came together were set."""
    found = batches_of(plant_set(history, slope_mm=float(beta[2]), theta=theta.tolist()))
    # A batch without another one to compare with departs from nothing.
    return [asdict(batch) | ({} if np.isfinite(batch.z) else {"z": 0.0}) for batch in found]


NO_WINDOW = "No revision of its specification is in force, so no unit can be forecast against a window."


def _signs(drift: ModelDrift, seen: Innovations) -> Signs:
    """Innovations of all readings, with each unit's EWMA of them about zero."""
    unit = drift.fit.layout.data.unit
    chart = ewma(seen.z, 0.0, EWMA_WEIGHT, unit)
    return Signs(seen.z, seen.jumps, chart, ewma_limit(1.0, EWMA_WEIGHT, rank=rank_within(unit)))


def _digest(*parts: str | bytes) -> str:
    return hashlib.sha256(b"".join(part.encode() if isinstance(part, str) else part for part in parts)).hexdigest()


def _tag(inputs: str, history: ModelHistory, policy: Policy) -> str:
    """Everything else that forecasts depend on, beside what the fit does."""
    window = history.window
    limits = (window.lower_mm, window.upper_mm) if window else None
    lives = [(one.turbocharger, one.usage_now, one.use.km_per_day, one.last_check) for one in history.lives if one]
    levels = (policy.risk_level, policy.leaving_level, policy.horizon_days)
    return _digest(inputs, repr((history.today, limits, levels)), repr(lives))[:16]
