"""How long settings stay inside their window: groups with their limits, as the fits kept them."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from checks.models import LifeFit
from checks.models.forecast import Basis
from checks.selectors.life import life_fits
from fleet.models import Depot, Turbocharger, User
from fleet.selectors.scope import depots_of
from reports.charts.life import Group, Reach

KINDS = ("depot", "origin", "setting")
# A fit without a model sets models against each other.
MODELS = "model"


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Groups set against each other; ``p`` by Weibull lives, ``p_scores`` without a shape, None where not told.

    ``named`` are those of the groups that the viewer may see; ``whole`` says that these are all.
    """

    kind: str
    named: tuple[str, ...]
    whole: bool
    statistic: float
    dof: int
    p: float
    p_scores: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelLife:
    """One model: all its lives, its groups by kind, and what could not be counted with the reason."""

    pk: int
    whole: Group
    groups: dict[str, tuple[Group, ...]]
    compared: dict[str, Compared]
    ticks: tuple[float, ...]
    left_out: tuple[tuple[str, int], ...]
    made_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class LifePage:
    """Every model with lives by name, and what sets them against each other."""

    basis: Basis
    models: tuple[ModelLife, ...]
    compared: Compared | None

    def model(self, pk: int | None) -> ModelLife | None:
        """The model asked for; else the one of which most were seen outside."""
        wanted = next((row for row in self.models if row.pk == pk), None)
        return wanted or max(self.models, key=lambda row: row.whole.events, default=None)


def life_page(*, user: User, basis: Basis) -> LifePage:
    """What `user` may see: models are the whole fleet's, depots those of `user`. Two queries."""
    return life_of(depots_of(user).distinct(), basis=basis)


def life_of(depots: Collection[Depot] | Any, *, basis: Basis) -> LifePage:
    """Lives of every model, with the groups of some depots; one query beside that of the depots."""
    fits, names = life_fits(basis), {depot.pk: depot.name for depot in depots}
    models = [_model(fit, names) for fit in fits.values() if fit.turbocharger_model_id and fit.lives]
    models.sort(key=lambda row: row.whole.name)
    against = fits.get(None)
    found = against.comparisons[0] if against and against.comparisons else None
    named = {row.pk: row.whole.name for row in models}
    return LifePage(basis=basis, models=tuple(models), compared=_compared(found, named) if found else None)


def life_rows(*, user: User, basis: Basis) -> Iterator[dict[str, Any]]:
    """Every life at the depots of `user`, as it is counted; four queries."""
    depots = {depot.pk: depot.name for depot in depots_of(user).distinct()}
    for fit in LifeFit.objects.filter(basis=basis, turbocharger_model__isnull=False).select_related(
        "turbocharger_model"
    ):
        wanted = [row for row in fit.rows if row[1] in depots]
        units = Turbocharger.objects.filter(model=fit.turbocharger_model_id, depot__in=depots)
        serials = dict(units.order_by().values_list("pk", "serial"))
        for unit, depot, origin, setting, entry, left, right in wanted:
            yield {
                "model": str(fit.turbocharger_model), "serial": serials.get(unit, ""), "depot": depots[depot],
                "origin": origin, "setting": setting, "entry": entry, "left": left, "right": right,
            }  # fmt: skip


def _model(fit: LifeFit, depots: Mapping[int, str]) -> ModelLife:
    name = str(fit.turbocharger_model)
    groups: dict[str, list[Group]] = {}
    for row in fit.groups:
        if row["kind"] != "depot" or row["key"] in depots:
            groups.setdefault(row["kind"], []).append(_group(row, name, depots))
    names = {kind: {row.key: row.name for row in held} for kind, held in groups.items()}
    return ModelLife(
        pk=fit.turbocharger_model_id or 0,
        whole=groups[MODELS][0],
        groups={kind: tuple(sorted(groups.get(kind, ()), key=lambda row: row.name)) for kind in KINDS},
        compared={row["kind"]: one for row in fit.comparisons if (one := _compared(row, names.get(row["kind"], {})))},
        ticks=tuple(fit.ticks),
        left_out=tuple(fit.left_out.items()),
        made_at=fit.made_at,
    )


NAMES = {
    "new": "new",
    "reconditioned": "reconditioned",
    "plant": "as delivered",
    "workshop": "set in the workshop",
}


def _group(row: dict[str, Any], model: str, depots: Mapping[int, str]) -> Group:
    kind, key = row["kind"], row["key"]
    name = model if kind == MODELS else depots[key] if kind == "depot" else NAMES[key]
    plain = {part: row[part] for part in ("lives", "events", "late", "longest", "reason", "eta", "beta")}
    return Group(
        kind=kind, key=key, name=name, model=model, **plain,
        beta_limits=(row["beta_limits"][0], row["beta_limits"][1]),
        reaches=tuple(Reach(share, usage, low or 0.0, high) for share, usage, low, high in row["limits"]),
        steps=tuple((begin, end, after) for begin, end, after in row["steps"]),
        followed=tuple(row["followed"]),
    )  # fmt: skip


def _compared(row: dict[str, Any], names: Mapping[Any, str]) -> Compared | None:
    if row["weibull"] is None:
        return None
    named = tuple(names[key] for key in row["keys"] if key in names)
    scores = row["scores"]
    return Compared(
        kind=row["kind"], named=named, whole=len(named) == len(row["keys"]), statistic=row["weibull"]["statistic"],
        dof=row["weibull"]["dof"], p=row["weibull"]["p"], p_scores=scores["p"] if scores else None,
    )  # fmt: skip
