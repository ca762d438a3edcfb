"""Lives until outside by model, depot, origin and setting: derived, made anew at will with the same numbers."""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from django.db import transaction

from checks.convert import CODE_VERSION, jsonable
from checks.models import LifeFit
from checks.models.forecast import Basis
from checks.rules.epochs import Floats
from checks.rules.life import Lives
from checks.rules.life_groups import Comparison, compare, compare_by_scores
from checks.rules.life_told import TOO_FEW, Told, longest, tell, ticks
from checks.rules.survival import at_risk
from checks.selectors.life import PLANT, ModelLives, SettingLife, model_lives
from fleet.models import TurbochargerModel

# How lives are set apart within a model; origins only by the setting that the unit came with.
KINDS: dict[str, Callable[[SettingLife], str | int | None]] = {
    "depot": lambda one: one.depot,
    "origin": lambda one: one.origin if one.setting == PLANT else None,
    "setting": lambda one: one.setting,
}


@dataclass(frozen=True, slots=True)
class Prepared:
    """One model's lives in one basis as they are to be kept; without ``columns`` what is kept is the same."""

    model: int
    basis: Basis
    lives: int
    columns: dict[str, Any] | None


def prepare_life(
    model: TurbochargerModel, basis: Basis, *, anew: bool = False, beat: Callable[[], object] = lambda: None
) -> Prepared:
    """Tell a model's lives; reads only. With ``anew`` also where nothing changed since they were told.

    `beat` is called after reading and after each group.
    """
    found = model_lives(model, basis)
    beat()
    rows = [jsonable(list(asdict(one).values())) for one in found.rows]
    inputs = _digest([rows, found.left_out])
    if not anew and LifeFit.objects.filter(turbocharger_model=model, basis=basis, inputs=inputs).exists():
        return Prepared(model.pk, basis, len(rows), None)
    columns = _columns(found, rows, beat) | {"inputs": inputs, "code_version": CODE_VERSION}
    return Prepared(model.pk, basis, len(rows), columns)


def store_life(told: Sequence[Prepared]) -> None:
    """Keep what was told, in one transaction."""
    with transaction.atomic():
        for one in told:
            if one.columns is not None:
                LifeFit.objects.update_or_create(turbocharger_model_id=one.model, basis=one.basis, defaults=one.columns)


def compare_models() -> None:
    """Set all models against each other in both bases, from the lives that are kept."""
    for basis in Basis:
        kept = LifeFit.objects.filter(basis=basis, turbocharger_model__isnull=False).order_by("turbocharger_model")
        lives = {fit.turbocharger_model_id: lives_of(fit.rows) for fit in kept if fit.rows}
        told = {key: one for key, one in lives.items() if one.events >= TOO_FEW}
        LifeFit.objects.update_or_create(
            turbocharger_model=None,
            basis=basis,
            defaults={
                "lives": sum(len(one.left) for one in lives.values()),
                "events": sum(one.events for one in lives.values()),
                "comparisons": [_compared("model", told, len(lives))] if len(told) > 1 else [],
                "inputs": _digest([[key, one.left.tolist(), one.right.tolist()] for key, one in lives.items()]),
                "code_version": CODE_VERSION,
            },
        )


def fit_all(*, anew: bool = False) -> int:
    """Tell the lives of every model here and now; returns how many in km."""
    told = [
        prepare_life(model, basis, anew=anew) for model in TurbochargerModel.objects.order_by("pk") for basis in Basis
    ]
    store_life(told)
    compare_models()
    return sum(one.lives for one in told if one.basis == Basis.KM)


def lives_of(rows: Sequence[Sequence[Any]]) -> Lives:
    """Rows as kept, as the core takes them."""
    table = np.array([[row[4], row[5], np.inf if row[6] is None else row[6]] for row in rows], np.float64)
    entry, left, right = table.reshape(-1, 3).T
    return Lives.of(left, right, entry)


def _columns(found: ModelLives, rows: list[list[Any]], beat: Callable[[], object]) -> dict[str, Any]:
    """What is told of the model and its groups."""
    if not rows:
        empty: dict[str, Any] = {name: [] for name in ("groups", "comparisons", "rows", "ticks")}
        return empty | {"lives": 0, "events": 0, "left_out": found.left_out}
    whole = lives_of(rows)
    at = ticks(longest(whole))
    groups = [_group("model", found.model, whole, at)]
    comparisons = []
    for kind, named in KINDS.items():
        names = [named(one) for one in found.rows]
        lives = {
            name: whole.only(np.array([one == name for one in names]))
            for name in sorted({one for one in names if one is not None}, key=str)
        }
        for name, of in lives.items():
            groups.append(_group(kind, name, of, at))
            beat()
        told = {name: of for name, of in lives.items() if of.events >= TOO_FEW}
        if len(told) > 1:
            comparisons.append(_compared(kind, told, len(lives)))
    return {
        "lives": len(rows), "events": whole.events, "groups": groups, "comparisons": comparisons, "rows": rows,
        "ticks": at.tolist(), "left_out": found.left_out,
    }  # fmt: skip


def _group(kind: str, key: str | int, lives: Lives, at: Floats) -> dict[str, Any]:
    told: Told = tell(lives)
    return {
        "kind": kind,
        "key": key,
        "lives": told.lives,
        "events": told.events,
        "late": told.late,
        "longest": told.longest,
        "reason": told.reason,
        "eta": told.eta,
        "beta": told.beta,
        "beta_limits": list(told.beta_limits),
        "limits": [[row.share, row.usage, jsonable(row.low), jsonable(row.high)] for row in told.limits],
        "steps": [list(row) for row in told.steps],
        "followed": at_risk(lives, at).tolist(),
    }


def _compared(kind: str, told: dict[Any, Lives], groups: int) -> dict[str, Any]:
    """Those with enough events, by Weibull lives, and by scores where every life was followed from its beginning."""
    out: dict[str, Any] = {"kind": kind, "keys": list(told), "groups": groups, "weibull": None, "scores": None}
    for name, test in (("weibull", compare), ("scores", compare_by_scores)):
        try:
            found: Comparison = test(list(told.values()))
        except ValueError:
            continue
        out[name] = asdict(found)
    return out


def _digest(parts: Any) -> str:
    return hashlib.sha256(repr((CODE_VERSION, parts)).encode()).hexdigest()
