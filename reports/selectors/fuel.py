"""The page of fuel: what travel outside its window costs, and which units lost most."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any
from urllib.parse import urlencode

from checks.models import FuelFit, FuelLoss, FuelMonth
from checks.rules.fuel import Effect
from checks.rules.fuel_cost import KG_CO2_PER_LITRE
from checks.selectors.fuel import (
    SIDES,
    Amount,
    Cost,
    costs,
    current_fit,
    effect_now,
    effect_of,
    groups_of,
    least_loss,
    loss_amount,
    loss_money,
    losses_of,
)
from fleet.models import Depot, Trip, TurbochargerModel, User
from fleet.selectors.scope import holds
from fleet.web.pagination import page_after
from reports.selectors.depots import depots_by_name

PAGE_SIZE = 25
CHUNK = 500
PERIODS = {"month": "the last month", "year": "the last twelve months", "all": "all since trips began"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the viewer asked the page for; unknown values are as if not given."""

    depot: int | None = None
    model: int | None = None
    period: str = "year"
    after: str = ""

    def address(self, **changes: object) -> str:
        """The query part of this page's address with some parts changed; the first rows unless they are given."""
        wanted = replace(self, **{"after": "", **changes})  # type: ignore[arg-type]
        parts = {
            "depot": wanted.depot,
            "model": wanted.model,
            "period": "" if wanted.period == "year" else wanted.period,
            "after": wanted.after,
        }
        return "?" + urlencode({name: value for name, value in parts.items() if value})


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRow:
    """One unit in the ranking."""

    pk: int
    unit_number: str
    serial: str
    depot: str
    model: str
    truck: int
    shortfall_mm: float
    excess_mm: float
    travel_sd_mm: float
    month: int
    effect: Amount
    litres: Amount
    money: Amount | None
    currency: str
    thirsty: bool
    travel: int

    @property
    def co2_kg(self) -> Amount:
        """By the factor of 40 CFR 98, Table C-1."""
        return self.litres.times(KG_CO2_PER_LITRE)


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelPage:
    """Everything that the page shows. Without a ``fit`` the rest is empty.

    ``trucks``: how many have trips on record, 2 standing for any more.
    """

    fit: FuelFit | None
    trucks: int
    effects: dict[str, Effect]
    plain: dict[str, Effect]
    groups: list[dict[str, Any]]
    costs: dict[str, Cost]
    rows: list[LossRow]
    next_mark: str
    depots: list[Depot]
    models: list[TurbochargerModel]
    manages: bool


def fuel_page(*, user: User, wanted: Wanted) -> FuelPage:
    """The page as `user` may see it. Ten queries, whatever the size of the fleet."""
    depots = depots_by_name(user)
    models = list(TurbochargerModel.objects.order_by("name"))
    fit, manages = current_fit(), holds(user, "manager")
    if fit is None:
        return FuelPage(
            fit=None, trucks=_trucks_with_trips(), effects={}, plain={}, groups=[], costs={}, rows=[], next_mark="",
            depots=depots, models=models, manages=manages,
        )  # fmt: skip
    order = (f"-litres_{wanted.period}", "id")
    asked = losses_of(user, fit, period=wanted.period, depot=wanted.depot, model=wanted.model)
    page = page_after(asked, order=order, mark=wanted.after, size=PAGE_SIZE)
    return FuelPage(
        fit=fit,
        trucks=fit.trucks,
        effects={side: effect_of(fit.estimates, side) for side in SIDES},
        plain={side: effect_of(fit.plain, side) for side in SIDES},
        groups=[
            *groups_of(fit, "model", [model.pk for model in models if wanted.model in (None, model.pk)]),
            *groups_of(fit, "depot", [depot.pk for depot in depots if wanted.depot in (None, depot.pk)]),
        ],
        costs=costs(user, fit, depot=wanted.depot, model=wanted.model),
        rows=_rows(page.rows, wanted.period, least_loss(fit)),
        next_mark=page.next_mark,
        depots=depots,
        models=models,
        manages=manages,
    )


def _trucks_with_trips() -> int:
    """None, one, or 2 for more; two queries along the primary key, however many trips there are."""
    first = Trip.objects.order_by("truck_id", "started_s").values_list("truck_id", flat=True).first()
    return 0 if first is None else 1 + Trip.objects.filter(truck_id__gt=first).exists()


def loss_rows(*, user: User, wanted: Wanted) -> Iterator[LossRow]:
    """The whole ranking, the greatest loss first, read as it is asked for."""
    fit = current_fit()
    if fit is None:
        return
    asked = losses_of(user, fit, period=wanted.period, depot=wanted.depot, model=wanted.model)
    found = asked.order_by(f"-litres_{wanted.period}", "id").iterator(chunk_size=CHUNK)
    while chunk := list(islice(found, CHUNK)):
        yield from _rows(chunk, wanted.period, least_loss(fit))


def _rows(losses: list[FuelLoss], period: str, least: float) -> list[LossRow]:
    """Rows with where each unit more likely stood in its last month; one query."""
    months = FuelMonth.objects.filter(
        truck__in=[loss.truck_id for loss in losses], month__in={loss.month for loss in losses}
    )
    stood = {
        (truck, month, unit): travel
        for truck, month, unit, travel in months.values_list("truck", "month", "turbocharger", "travel")
    }
    inside = FuelMonth.Travel.INSIDE
    return [
        _row(loss, period, least, stood.get((loss.truck_id, loss.month, loss.turbocharger_id), inside))
        for loss in losses
    ]


def _row(loss: FuelLoss, period: str, least: float, travel: int) -> LossRow:
    unit = loss.turbocharger
    return LossRow(
        pk=unit.pk,
        unit_number=loss.truck.unit_number,
        serial=unit.serial,
        depot=unit.depot.name,
        model=unit.model.name,
        truck=loss.truck_id,
        shortfall_mm=loss.shortfall_mm,
        excess_mm=loss.excess_mm,
        travel_sd_mm=loss.travel_sd_mm,
        month=loss.month,
        effect=effect_now(loss, least),
        litres=loss_amount(loss, period, least),
        money=loss_money(loss, period, least),
        travel=travel,
        currency=loss.currency,
        thirsty=loss.thirsty,
    )
