"""The sentences that open the page of fuel."""

from django.utils import timezone

from checks.models import FuelFit
from checks.rules.fuel import ENOUGH_TRUCKS, Effect
from checks.selectors.days import month_of
from checks.selectors.fuel import SIDES, Cost
from reports.selectors.fuel import FuelPage
from reports.words.fuel import (
    STEPS,
    WHERE,
    amount_text,
    effect_amount,
    effect_text,
    money_texts,
    month_text,
    share_text,
    told_share,
)
from reports.words.grammar import capital, listing


def fuel_sentence(page: FuelPage, length_unit: str) -> str:
    """What a step outside the window costs, or why it cannot be told yet."""
    if page.fit is None:
        if page.trucks > 1:
            return "The fuel of the trips on record is being computed. Look again in a minute."
        why = "fewer than two trucks have trips" if page.trucks else "no trips are"
        return f"Nothing can be said of fuel yet: {why} on record."
    step = STEPS[length_unit][1]
    told = [side for side in SIDES if page.effects[side].carried]
    if not told:
        why = _why_not(page.fit, page.effects)
        return f"What travel outside the window costs in fuel cannot be told yet, because {why}."
    parts = [_cost_of(page.effects[side], side, step, length_unit) for side in told]
    said = capital(listing(parts)) + "."
    for side in SIDES:
        if side not in told:
            said += f" {capital(_untold(page.effects[side]))} {WHERE[side]}: its cost cannot be told yet."
    return said


def cost_sentence(page: FuelPage) -> str:
    """What it cost in the last month."""
    if page.fit is None or not any(effect.carried for effect in page.effects.values()):
        return ""
    cost = page.costs["month"]
    if not cost.burnt_litres:
        return "None of the trucks asked for has trips in the last month."
    when = f"{month_text(cost.last_month)}{_so_far(cost.last_month)}"
    if not cost.litres.told:
        return f"What it cost in {when} is not known: of none of the trucks asked for is travel known."
    may_be_none = cost.litres.low <= 0 <= cost.litres.high
    cost_was = "a cost cannot be told from none:" if may_be_none else "it cost"
    return (
        f"In {when} {cost_was} {amount_text(cost.litres, 'L')}{_worth(cost)} and"
        f" {amount_text(cost.co2_kg, 'kg')} of CO₂{_of_all(cost)}."
    )


def uncounted_sentence(page: FuelPage) -> str:
    """What the costs hold nothing of, since it cannot be told or is not known."""
    cost = page.costs["month"]
    parts = [
        f"Travel {WHERE[side]} counts with nothing here, since its cost cannot be told yet."
        for side in SIDES
        if not page.effects[side].carried and any(effect.carried for effect in page.effects.values())
    ]
    if cost.unknown:
        parts.append(
            f"In {month_text(cost.last_month)} the travel of {cost.unknown} of {cost.trucks} trucks is not known and"
            " counts with nothing."
        )
    return " ".join(parts)


def _worth(cost: Cost) -> str:
    money = money_texts(cost.money)
    if not money:
        return ""
    return f", {listing(money)}{' where a price is known' if cost.unpriced else ''},"


def _so_far(month: int) -> str:
    return " so far" if month == month_of(timezone.localdate()) else ""


def _cost_of(effect: Effect, side: str, step: str, length_unit: str) -> str:
    amount = effect_amount(effect, length_unit)
    if amount.low <= 0 <= amount.high:
        text = effect_text(effect, length_unit)
        return f"for each {step} {WHERE[side]} more fuel cannot be told from none, {text}"
    if amount.value < 0:
        less = share_text(-amount.value, -amount.high, -amount.low)
        return f"each {step} {WHERE[side]} goes with {less} less fuel"
    return f"each {step} {WHERE[side]} costs {effect_text(effect, length_unit)} more fuel"


def _of_all(cost: Cost) -> str:
    return f", {told_share(cost.litres.times(1 / cost.burnt_litres))} of all fuel"


def _why_not(fit: FuelFit, effects: dict[str, Effect]) -> str:
    if not fit.cells:
        return "no truck with trips has had its travel read since its turbocharger was fitted"
    if all(effect.trucks <= 1 for effect in effects.values()):
        return "no truck with trips moved inside or outside its window, as far as readings tell"
    most = max(effect.trucks for effect in effects.values())
    return (
        f"what is known rests on {most:.1f} trucks' worth of evidence, and fewer than {ENOUGH_TRUCKS:.0f}"
        " carry no claim of cost"
    )


def _untold(effect: Effect) -> str:
    return f"{effect.trucks:.1f} trucks' worth of evidence tells of travel" if effect.trucks > 1 else "no truck stood"
