"""Fuel: what a step outside the window costs, what it cost the fleet, which units lost most, what was given back."""

from collections.abc import Iterator

from checks.models import FuelFit
from checks.selectors.fuel import SIDES, Amount, Cost, costs, current_fit, effect_of
from reports.export.frozen import Chart, Column, Table, Value, table
from reports.review.found import MONTH, YEAR
from reports.review.records import READER, Records
from reports.selectors.fuel import Wanted, loss_rows
from reports.selectors.restored import Restored, mean_of, restored_rows, saved_together
from reports.words.fuel import effect_amount, month_text

WHERE = {"shortfall": "below the window", "excess": "above the window"}
MOST_LOSSES = 200
CO2 = "kg CO2 by 10.21 kg a US gallon (40 CFR 98, Table C-1)."


def _limits(key: str, label: str, of: str, unit: str = "", places: int = 0) -> tuple[Column, Column, Column]:
    """A value and its 95 % limits."""
    return (
        Column(key, label, of, "number", unit, places),
        Column(f"{key}_low_limit", "95 % from", f"Lower 95 % limit of {key}.", "number", unit, places),
        Column(f"{key}_high_limit", "95 % to", f"Upper 95 % limit of {key}.", "number", unit, places),
    )


def _three(amount: Amount | None, factor: float = 1.0) -> tuple[Value, Value, Value]:
    if amount is None or not amount.told:
        return None, None, None
    return amount.value * factor, amount.low * factor, amount.high * factor


def effect_table(records: Records) -> Table:
    """More fuel for each 0.1 mm outside the window."""
    fit = current_fit()
    rows = []
    for side in SIDES if fit else ():
        effect = effect_of(fit.estimates, side)  # type: ignore[union-attr]
        told = effect_amount(effect, "mm") if effect.carried else None
        rows.append((WHERE[side], *_three(told, 100), effect.trucks, "yes" if effect.carried else "no"))
    when = f" Months {month_text(fit.first_month)} to {month_text(fit.last_month)}." if fit else ""
    return table(
        "fuel_effect",
        "Fuel for each 0.1 mm outside",
        "More fuel for each 0.1 mm that travel stands outside its window, payload, ascent, speed, idling and air "
        f"temperature taken out.{when}",
        (
            Column("side", "travel", "Side of the window on which travel stands."),
            *_limits("more_fuel", "more fuel", "More fuel for each 0.1 mm outside the window.", "%", 2),
            Column("trucks", "trucks", "Effective number of trucks that tell it.", "number", "", 1),
            Column("told", "told", "Whether enough trucks tell it for a claim of cost."),
        ),
        rows,
        note=(
            "The fit covers the whole fleet also in a depot's review. It compares trucks with themselves over time; "
            "what else changed with a truck in the same months counts here too."
        ),
    )


def cost_table(records: Records) -> Table:
    """What travel outside the window cost."""
    fit = current_fit()
    rows = list(_costs(records, fit)) if fit else []
    return table(
        "fuel_cost",
        "What travel outside the window cost",
        "Fuel burnt beyond what the same trips would have taken inside the window.",
        (
            Column("period", "period", "The month, or the twelve months that end with it."),
            Column("trucks", "trucks", "Trucks with trips in the last month of the period.", "number"),
            Column("outside", "outside", "Of these, more likely outside than not.", "number"),
            Column("unknown", "unknown", "Of these, trucks whose travel is not known.", "number"),
            Column("burnt", "burnt", "All fuel burnt in the period.", "number", "L", 0),
            *_limits("extra", "extra fuel", "Fuel burnt because travel stood outside.", "L", 0),
            *_limits("co2", "CO2", CO2, "kg", 0),
            *_limits("money", "money", "Extra fuel at the prices on record.", "", 0),
            Column("currency", "currency", "Currency of the money, by ISO 4217."),
        ),
        rows,
        note="Litres at depots without a price on record have no money. Where prices are in several currencies each "
        "has a row of its own beside the same litres.",
        chart=Chart("range", "period", ("extra", "extra_low_limit", "extra_high_limit"), "Extra fuel", "L"),
    )


def _costs(records: Records, fit: FuelFit) -> Iterator[tuple[Value, ...]]:
    until = min(records.month.number, fit.last_month)
    if until < max(fit.first_month, records.month.number):
        return  # no trips of this month yet
    said = costs(READER, fit, depot=records.depot_key, until=until)
    for words, cost in ((MONTH, said["month"]), (YEAR, said["year"])):
        priced: dict[str, Amount | None] = {**cost.money} or {"": None}
        for currency, money in priced.items():
            yield _cost(words, cost, currency, money)


def _cost(words: str, cost: Cost, currency: str, money: Amount | None) -> tuple[Value, ...]:
    return (
        words, cost.trucks, cost.outside, cost.unknown, cost.burnt_litres, *_three(cost.litres), *_three(cost.co2_kg),
        *_three(money), currency,
    )  # fmt: skip


def loss_table(records: Records) -> Table:
    """Units that lost most."""
    wanted = Wanted(depot=records.depot_key)
    rows = [
        (row.unit_number, row.serial, row.model, row.depot, *_three(row.effect, 100), *_three(row.litres),
         *_three(row.money), row.currency)
        for row, _ in zip(loss_rows(user=READER, wanted=wanted), range(MOST_LOSSES), strict=False)
    ]  # fmt: skip
    return table(
        "fuel_losses",
        "Units that lost most",
        f"Up to {MOST_LOSSES} units by fuel lost over the last twelve months of trips, as computed when the review "
        "was run.",
        (
            Column("truck", "truck", "Unit number of the truck."),
            Column("serial", "serial number", "Serial number of the turbocharger."),
            Column("model", "model", "Turbocharger model."),
            Column("depot", "depot", "Depot of the unit."),
            *_limits("more_fuel", "more fuel", "More fuel than inside the window, in its last month.", "%", 1),
            *_limits("litres", "litres", "Fuel lost over twelve months.", "L", 0),
            *_limits("money", "money", "The same at the prices on record.", "", 0),
            Column("currency", "currency", "Currency of the money, by ISO 4217."),
        ),
        rows,
    )


def restored_of(records: Records) -> list[Restored]:
    """Restorations of the twelve months that end with this one, latest first."""
    since, until = records.month.year_began, records.month.last
    rows = restored_rows(user=READER, depot=records.depot_key)
    return [row for row in rows if since <= row.day <= until]


def restored_table(records: Records) -> Table:
    """Before and after."""
    rows = [
        (row.unit_number, row.serial, row.model, row.depot, row.day, row.means, row.side.replace("_", " "),
         row.beyond_mm, *_three(row.change, 100), *_three(row.saved_litres), row.controls, row.reason)
        for row in restored_of(records)
    ]  # fmt: skip
    return table(
        "restorations",
        "Before and after",
        "Units brought back into their window in the twelve months that end with this one, and how the fuel use of "
        "their trucks changed against trucks without a change.",
        (
            Column("truck", "truck", "Unit number of the truck."),
            Column("serial", "serial number", "Serial number of the turbocharger."),
            Column("model", "model", "Turbocharger model."),
            Column("depot", "depot", "Depot of the truck."),
            Column("restored_on", "restored on", "Day on which it was brought back.", "day"),
            Column("means", "how", "By turning the rod, or by another unit."),
            Column("stood", "stood", "Side of the window on which it stood."),
            Column("beyond", "beyond", "How far beyond the limit it was found.", "number", "mm", 3),
            *_limits("change", "change", "Change of fuel use; below zero is less fuel.", "%", 1),
            *_limits("saved", "saved", "Fuel saved since then.", "L", 0),
            Column("controls", "compared with", "Trucks without a change in the same months.", "number", "trucks"),
            Column("reason", "why not told", "Why the change cannot be told, where it cannot."),
        ),
        rows,
        note=(
            "Units were restored because they stood outside, not at random, and a visit often mends other things too. "
            "One event alone tells little, as its limits show."
        ),
    )


def together_table(records: Records) -> Table:
    """All restorations of the twelve months as one."""
    events = restored_of(records)
    told = [row for row in events if row.change]
    less = sum(row.change.high < 0 for row in told if row.change)
    mean, saved = mean_of(told)[1], saved_together(told)
    row = (len(events), len(told), less, *_three(mean, 100), *_three(saved))
    return table(
        "restorations_together",
        "Before and after, all together",
        "The events listed above as one: their mean by random effects (DerSimonian and Laird 1986) with the limits of "
        "Hartung and Knapp (2001), and the sum of the fuel saved.",
        (
            Column("events", "restored", "Units brought back into their window in the twelve months.", "number"),
            Column("told", "told", "Of these, events whose change of fuel can be told.", "number"),
            Column("less", "burn less", "Of these, trucks that burn less by more than chance explains.", "number"),
            *_limits("change", "mean change", "Mean change of fuel use; below zero is less fuel.", "%", 1),
            *_limits("saved", "saved", "Fuel saved since then by all of them.", "L", 0),
        ),
        [row] if events else [],
        note="A mean needs two events that can be told. Events share the trucks that they are compared with.",
    )
