"""What travel cost by period and by unit, in rows and words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checks.display import length_text
from checks.measurement.quantiles import NORMAL_95
from checks.selectors.fuel import Cost
from reports.charts.fuel import HIGH, INSIDE, LOW
from reports.selectors.fuel import PERIODS, LossRow
from reports.words.fuel import Told, month_text, months_text, told_amount, told_share

STATES = {LOW: "outside_low", INSIDE: "inside", HIGH: "outside_high"}
# Priced now, but not in every month, or not in one currency: amounts that are not added up.
SEVERAL = Told("not in one price", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodLine:
    """What travel outside the window cost over a period."""

    name: str
    months: str
    litres: Told
    money: list[Told]
    co2: Told
    share: Told | None
    unpriced: Told | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LossLine:
    """One unit of the ranking in words."""

    pk: int
    name: str
    serial: str
    depot: str
    model: str
    state: str
    away: str
    effect: Told
    litres: Told
    money: Told | None
    co2: Told
    month: str
    thirsty: bool


def period_lines(costs: Mapping[str, Cost]) -> list[PeriodLine]:
    """One line a period."""
    return [
        PeriodLine(
            name=PERIODS[period],
            months=months_text(cost.first_month, cost.last_month),
            litres=told_amount(cost.litres, "L"),
            money=[told_amount(amount, currency) for currency, amount in cost.money.items()],
            co2=told_amount(cost.co2_kg, "kg"),
            share=_share(cost),
            unpriced=told_amount(cost.unpriced, "L") if cost.money and cost.unpriced else None,
        )
        for period, cost in costs.items()
    ]


def _share(cost: Cost) -> Told | None:
    return told_share(cost.litres.times(1 / cost.burnt_litres), 2) if cost.burnt_litres else None


def loss_lines(rows: Sequence[LossRow], unit: str) -> list[LossLine]:
    """The ranking in the viewer's units."""
    return [
        LossLine(
            pk=row.pk,
            name=row.unit_number,
            serial=row.serial,
            depot=row.depot,
            model=row.model,
            state=STATES.get(row.travel, "inside"),
            away=_away(row, unit),
            effect=told_share(row.effect),
            litres=told_amount(row.litres, "L"),
            money=told_amount(row.money, row.currency) if row.money else SEVERAL if row.currency else None,
            co2=told_amount(row.co2_kg, "kg"),
            month=month_text(row.month),
            thirsty=row.thirsty,
        )
        for row in rows
    ]


def _away(row: LossRow, unit: str) -> str:
    """How far out it is expected to stand, with its 95 % limits, such as ``by 0.21 mm (0.12 to 0.30)``."""
    if row.travel not in (LOW, HIGH):
        return ""
    mean, half = row.shortfall_mm if row.travel == LOW else row.excess_mm, NORMAL_95 * row.travel_sd_mm
    low, high = (length_text(max(0.0, limit), unit, with_unit=False) for limit in (mean - half, mean + half))
    return f"by {length_text(mean, unit)} ({low} to {high})"
